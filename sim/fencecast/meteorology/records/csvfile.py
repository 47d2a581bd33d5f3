"""Any hourly CSV file through the column map of the site file."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np

from fencecast.errors import InputError, Problem, close_match, name_list, show_value
from fencecast.meteorology.records.localtime import local_standard
from fencecast.meteorology.records.rows import Notes, Rows, numbers_of
from fencecast.meteorology.records.summerclock import summer_time_seen, zone_of
from fencecast.meteorology.records.texts import NO_ROWS, not_this_kind, text_of
from fencecast.meteorology.records.timeformat import likeliest_format
from fencecast.site.columns import MEASURES, in_record_units
from fencecast.site.hourly import LOCAL_STANDARD, WeatherFile

_SEPARATORS = ",;\t"
# "T" is a trace: wet, but less than the gauge can measure. Half of a tenth of a millimetre (judgement).
_TRACE_MM = 0.05
# So many rows without a readable time are no slips of a pen (judgement).
_MANY_UNREAD, _MANY_UNREAD_SHARE = 24, 0.1
_PARTS = ("year", "month", "day", "hour")


def read_csv_rows(path: Path, options: WeatherFile) -> Rows:
    """The rows of a CSV file that `options` describe. InputError when a column is not there or no time can be read."""
    table, line = _table(path, options)
    for heading, wanted in (options.only or {}).items():
        mine = np.char.strip(table[heading]) == wanted
        if not np.any(mine):
            found = name_list(sorted(set(table[heading].tolist()))[:8])
            problem = Problem(f"[weather_file] only {heading}", wanted, f"a text that stands under this heading: {found}, ...")
            raise InputError([problem], str(path))
        table, line = {name: array[mine] for name, array in table.items()}, line[mine]
    notes = Notes()
    values, as_written, codes = {}, {}, None
    for name, entry in options.columns.items():
        texts = table[entry["column"]]
        if name == "weather_code":
            texts = np.char.strip(texts)
            codes = np.where(np.isin(texts, ("NA", *options.missing)), "", texts)
            continue
        values_name = MEASURES[name].key
        numbers = numbers_of(_without_trace(name, entry["unit"], texts, notes), line, values_name, notes, options.missing)
        values[values_name] = in_record_units(name, entry["unit"], numbers)
        as_written[values_name] = texts, entry["unit"]
    label, with_offset = _labels(path, table, line, options.time, notes)
    readable = ~np.isnat(label)
    _note_summer_time(label[readable], options, notes)
    start, utc_offset_h, keep = local_standard(label[readable], line[readable], options, with_offset, str(path), notes)
    if options.time["marks"] == "end":
        # The hour that ends at 1:00 starts at 0:00, and so does one that ends at 0:30.
        start = start - np.timedelta64(1, "s")
    kept = np.flatnonzero(readable)[keep]
    starts = np.full(len(line), np.datetime64("NaT"), dtype="datetime64[s]")
    starts[kept] = start.astype("datetime64[h]").astype("datetime64[s]")
    _dry_where_blank(table, options, starts, values, notes)
    rows = Rows(str(path), line, starts, utc_offset_h, values, as_written, codes, notes=notes)
    rows.take(kept)
    # A file that runs backwards is turned, so that "the first row of an hour" means the same for all.
    if len(rows.start) > 1 and rows.start[0] > rows.start[-1]:
        rows.take(np.arange(len(rows.start))[::-1])
    return rows


def _table(path: Path, options: WeatherFile) -> tuple[dict[str, np.ndarray], np.ndarray]:
    """The columns that are needed, as text by heading, and the line of each row."""
    import pandas as pd

    text = text_of(path)
    heading_line = text.split("\n", 1)[0]
    separator = max(_SEPARATORS, key=heading_line.count)
    try:
        frame = pd.read_csv(io.StringIO(text), sep=separator, dtype=str, keep_default_na=False, skipinitialspace=True)
    except (ValueError, pd.errors.ParserError) as error:
        raise not_this_kind(path, "a CSV file (a line of headings, then one row an hour)", error) from None
    frame.columns = [str(heading).strip() for heading in frame.columns]
    needed = {f"columns {name} column": entry["column"] for name, entry in options.columns.items()}
    needed |= {f"time {key}": options.time[key] for key in ("column", *_PARTS) if key in options.time}
    needed |= {f"only {heading}": heading for heading in options.only or {}}
    problems = []
    for key, heading in needed.items():
        if heading not in frame.columns:
            near = close_match(heading, frame.columns)
            hint = f"did you mean {show_value(near)}? " if near else ""
            allowed = f"{hint}a heading of the file: {name_list(frame.columns)}"
            problems.append(Problem(f"[weather_file] {key}", heading, allowed))
    if problems:
        raise InputError(problems, str(path))
    if len(frame) == 0:
        raise InputError([NO_ROWS], str(path))
    table = {heading: frame[heading].fillna("").to_numpy(dtype=str) for heading in dict.fromkeys(needed.values())}
    # With semicolons between columns, a comma is a decimal point.
    if separator == ";":
        measured = {entry["column"] for entry in options.columns.values()}
        table = {name: np.char.replace(array, ",", ".") if name in measured else array for name, array in table.items()}
    line = np.array([number for number, each in enumerate(text.splitlines(), start=1) if each.strip()][1:], dtype=np.int64)
    if len(line) != len(frame):  # quoted line breaks: no line numbers of the file, rows of the table instead
        line = np.arange(len(frame), dtype=np.int64) + 2
    return table, line


def _without_trace(name: str, unit: str, texts: np.ndarray, notes: Notes) -> np.ndarray:
    if name not in ("rain", "snow", "precipitation"):
        return texts
    trace = np.char.strip(texts) == "T"
    if not np.any(trace):
        return texts
    count = int(np.count_nonzero(trace))
    notes.add(None, MEASURES[name].key, "T", f"a trace, less than can be measured; taken as {_TRACE_MM} mm ({count:,} rows)")
    return np.where(trace, repr(_TRACE_MM / MEASURES[name].units[unit][0]), texts)


def _note_summer_time(label: np.ndarray, options: WeatherFile, notes: Notes) -> None:
    """A note before all others when times that should have no summer time look as if they had."""
    seen = summer_time_seen(label) if options.time["zone"] in ("UTC", LOCAL_STANDARD) else None
    if seen is None:
        return
    zone = zone_of(*seen, options.utc_offset_h)
    instead = f"zone = {show_value(zone)}" if zone else 'the place\'s zone, such as zone = "Europe/Berlin",'
    why = (
        f"looks like a clock with summer time, and is read as {options.time['zone']}: half of the year would be an hour off; "
        f"type {instead} in time of [weather_file]"
    )
    notes.add(None, "time", f"{seen[0]} given twice, {seen[1]} not at all", why)
    notes.problems.insert(0, notes.problems.pop())


def _dry_where_blank(table: dict, options: WeatherFile, starts: np.ndarray, values: dict, notes: Notes) -> None:
    """Blank fields of a column with `empty = 0` become 0, in place; not in an hour (starts, rows) of which another row tells."""
    for name, entry in options.columns.items():
        if "empty" not in entry:
            continue
        depth, blank = values[MEASURES[name].key], np.char.strip(table[entry["column"]]) == ""
        blank &= ~np.isnat(starts) & ~np.isin(starts, starts[np.isfinite(depth) & ~np.isnat(starts)])
        depth[blank] = 0.0
        if np.any(blank):
            count = f"blank in {int(np.count_nonzero(blank)):,} of {len(blank):,} rows"
            notes.add(None, MEASURES[name].key, count, f"taken as 0, as empty = 0 of {name} in columns says")


def _labels(path: Path, table: dict, line: np.ndarray, time: dict, notes: Notes) -> tuple[np.ndarray, bool]:
    """What stands in the time columns as datetime64[s], NaT where it is none (noted); and whether it carries an offset to UTC."""
    import pandas as pd

    if "column" not in time:
        parts = {part: numbers_of(table[time[part]], line, part, Notes()) for part in _PARTS}
        days = pd.to_datetime(pd.DataFrame({part: parts[part] for part in _PARTS[:3]}), errors="coerce")
        hours = parts["hour"]
        label = days.to_numpy().astype("datetime64[s]")
        good = ~np.isnat(label) & np.isfinite(hours) & (hours >= 0) & (hours <= 24)
        label = np.where(good, label + (np.where(good, hours, 0) * 3600).astype("timedelta64[s]"), np.datetime64("NaT"))
        texts = np.array([" ".join(row) for row in zip(*(table[time[part]] for part in _PARTS))])
        with_offset = False
    else:
        texts = np.char.strip(table[time["column"]])
        seen = next((text for text in texts if text), "")
        with_offset = _has_offset(seen)
        try:
            parsed = pd.to_datetime(pd.Series(texts), format=time.get("format") or "ISO8601", errors="coerce", utc=with_offset)
        except (ValueError, TypeError) as error:
            raise _no_time(path, seen, str(error), texts) from None
        if with_offset:
            parsed = parsed.dt.tz_localize(None)
        label = parsed.to_numpy().astype("datetime64[s]")
    if np.all(np.isnat(label)):
        raise _no_time(path, str(texts[0]) if len(texts) else "", "no row has a time that can be read", texts)
    unread = np.isnat(label)
    _refuse_another_format(path, line, texts, unread & (texts != ""), time)
    notes.add_rows(line[unread], "time", texts[unread], "is no time; the row is left out")
    return label, with_offset


def _refuse_another_format(path: Path, line: np.ndarray, texts: np.ndarray, unread: np.ndarray, time: dict) -> None:
    """Refuses times (rows,) of which many cannot be read, or all could in another format: then the rest are other times, too.

    Day and month in the wrong order read as times up to the 12th of each month, and as none from the 13th on.
    """
    count, there = int(np.count_nonzero(unread)), int(np.count_nonzero(texts != ""))
    if count == 0:
        return
    found = likeliest_format(texts[texts != ""]) if "column" in time else None
    if not (found and found[1] == there) and (count < _MANY_UNREAD or count <= _MANY_UNREAD_SHARE * there):
        return
    how = f"by format = {show_value(time['format'])}" if "format" in time else "as it stands"
    first = int(np.flatnonzero(unread)[0])
    allowed = (
        f"so it is in {count:,} of {there:,} rows, the first in line {int(line[first]):,}; where so many are no time, the rest "
        "may be read as another one"
    )
    if found:
        instead = f"format = {show_value(found[0])} in time, which reads {found[1]:,} of them"
    else:
        allowed += (
            "; look at what names the time, and at its format (Python's strptime: %d day, %m month, %Y year, %H hour, %M minute)"
        )
        instead = ""
    raise InputError([Problem("[weather_file] time", str(texts[first]), allowed, instead, f"cannot be read {how}")], str(path))


def _has_offset(text: str) -> bool:
    """Whether a time ends in Z or in an offset such as +01:00: then it says by itself what it is in UTC."""
    clock = text[10:]
    return clock.endswith(("Z", "z")) or any(sign in clock for sign in "+-")


def _no_time(path: Path, seen: str, reason: str, texts: np.ndarray) -> InputError:
    allowed = f"times that can be read, such as 2013-01-31 18:00, or of the format given ({' '.join(reason.split())[:120]})"
    found = likeliest_format(texts[texts != ""]) if np.any(texts != "") else None
    form = found[0] if found else "%d.%m.%Y %H:%M"
    return InputError([Problem("[weather_file] time", seen, allowed, f"format = {show_value(form)} in time")], str(path))
