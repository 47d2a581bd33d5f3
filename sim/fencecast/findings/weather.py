"""What `fencecast weather` says: the record and its holes, the armed hours, and the hours of each class."""

from __future__ import annotations

import numpy as np

from fencecast import __version__
from fencecast.findings.blocks import FINDING, LEFT, NOTE, RIGHT, TITLE, Block, Cell, Heading, Line, Table, written_lines
from fencecast.findings.limits import limit_lines, limits_object
from fencecast.findings.words import feet, hours_heading, whole
from fencecast.findings.yeartitles import TYPICAL_YEARS, weather_title
from fencecast.meteorology.sorting import RULES, class_of_hours
from fencecast.meteorology.year import LEAST_YEARS, Year
from fencecast.site import Site

MOST_PROBLEMS = 12
# What an hour is made of, by the words of the report; one of several fields is enough.
NEEDED = {
    "air temperature": ("air_temperature_c",),
    "humidity": ("relative_humidity",),
    "wind": ("wind_m_s",),
    "visibility": ("visibility_m",),
    "rain or snow": ("rain_mm_h", "snow_mm_h", "precipitation_mm_h"),
    "cloud": ("cloud",),
}


def weather_object(year: Year, site: Site, files: list[str]) -> dict:
    """The object of --json; hours of classes are those of the record, and hours_per_year are divided by its years."""
    records, counted = year.records, year.counted
    index = class_of_hours(year)
    classes = [
        {
            "name": rule.name,
            "rule": rule.words,
            "hours": int(np.count_nonzero(index == k)),
            "hours_per_year": np.count_nonzero(index == k) / year.period_years,
            **{f"median_{name}": _median(year.middle[name], index == k) for name in _MEDIANS},
        }
        for k, rule in enumerate(RULES)
        if np.any(index == k)
    ]
    lacking = {
        words: int(np.count_nonzero(year.armed & np.all([np.isnan(records.values[field]) for field in fields], axis=0)))
        for words, fields in NEEDED.items()
    }
    return {
        "title": site.title,
        "version": __version__,
        "source": records.source,
        "years": year.period_years,
        "armed": armed_words(site),
        "hours": {
            "record": len(records.time),
            "armed": int(np.count_nonzero(year.armed)),
            "known": int(np.count_nonzero(counted)),
            "least_share": site.weather_file.least_share,
        },
        "armed_hours_without": lacking,
        "visibility_cap_m": records.visibility_cap_m,
        "problems": [
            {"row": problem.row, "field": problem.field, "value": str(problem.value), "why": problem.why}
            for problem in records.problems
        ],
        "classes": classes,
        "finding": weather_title(year),
        "note": TYPICAL_YEARS,
        "files": files,
        **limits_object(),
    }


_MEDIANS = ("visibility_m", "air_temperature_c", "contrast_k")


def _median(values: np.ndarray, hours: np.ndarray) -> float:
    known = values[hours & np.isfinite(values)]
    return float(np.median(known)) if len(known) else float("nan")


def armed_words(site: Site) -> str:
    """When the system is armed, as the site file says it."""
    armed = site.armed
    if armed is None or (armed.hours is None and armed.sun_below_deg is None):
        return "always"
    parts = []
    if armed.hours is not None:
        hours = armed.hours
        by_days = hours if isinstance(hours, dict) else {"": hours}
        spans = "; ".join(f"{days} {', '.join(each)}".strip() for days, each in by_days.items())
        parts.append(f"{spans} ({armed.time_zone or 'local standard time'})")
    if armed.sun_below_deg is not None:
        parts.append(f"sun below {armed.sun_below_deg:g} degrees".replace("-", "−"))
    return " and ".join(parts)


def weather_blocks(said: dict, site: Site) -> list[Block]:
    """The report; said: the object of `weather_object`."""
    hours = said["hours"]
    armed, known = hours["armed"], hours["known"]
    share = f" ({100.0 * known / armed:.1f} %; asked for: {100.0 * hours['least_share']:g} %)" if armed else ""
    blocks: list[Block] = [
        Line(said["title"], TITLE),
        Line(said["finding"], FINDING),
        Line(f"Record: {said['source']}."),
        Line(f"Armed: {said['armed']}. Only armed hours count."),
        Line(f"{hours['record']:,} hours in the record, {armed:,} of them armed; enough is known of {known:,}{share}."),
    ]
    if said["visibility_cap_m"]:
        blocks.append(
            Line(f"A visibility of {said['visibility_cap_m']:,.0f} m means this or more: the station counts no farther.")
        )
    lacking = [f"{words} {count:,}" for words, count in said["armed_hours_without"].items() if count]
    if lacking:
        blocks.append(Line(f"Armed hours without: {', '.join(lacking)}."))
    return [
        *blocks,
        *_classes(said, site.units),
        *_problems(said["problems"]),
        Line(said["note"], apart=True),
        *written_lines(said["files"]),
        *limit_lines(),
    ]


def _classes(said: dict, units: str) -> list[Block]:
    def both(value: float, text: str, second: str) -> Cell:
        """A median with its second unit below it; '-' where no hour of the class has one."""
        if np.isnan(value):
            return Cell("-")
        return Cell(text.replace("-", "−"), below=second.replace("-", "−") if units == "us" else "")

    key = "hours_per_year" if said["years"] >= LEAST_YEARS else "hours"
    rows: list[list[str | Cell]] = []
    for each in said["classes"]:
        visibility, air, contrast = (each[f"median_{name}"] for name in _MEDIANS)
        rows.append(
            [
                each["name"],
                whole(each[key]),
                both(visibility, f"{visibility:,.0f} m", f"{feet(visibility):,.0f} ft"),
                both(air, f"{air:.1f} °C", f"{air * 1.8 + 32.0:.0f} °F"),
                both(contrast, f"{contrast:+.1f} K", f"{contrast * 1.8:+.1f} °F"),
                each["rule"],
            ]
        )
    rows.append(["all", whole(sum(each[key] for each in said["classes"])), "", "", "", ""])
    columns = [("class", LEFT), (hours_heading(said["years"]), RIGHT), ("range", RIGHT), ("air", RIGHT), ("contrast", RIGHT)]
    return [
        Heading("Weather classes"),
        Table.of([*columns, ("rule", LEFT)], rows),
        Line(
            "Medians of each class's armed hours. Range: optical range. Contrast: a walker's clothing with the ground, at no "
            "distance. An hour is in the first class whose rule it meets.",
            NOTE,
        ),
    ]


def _problems(problems: list[dict]) -> list[Block]:
    head = Heading("Problems of the record")
    if not problems:
        return [head, Line("None: every value was taken as it stands.")]
    said = [
        f"{'the file' if p['row'] is None else 'line ' + format(p['row'], ',')}: {p['field']} {p['value']}: {p['why']}"
        for p in problems[:MOST_PROBLEMS]
    ]
    if len(problems) > MOST_PROBLEMS:
        said.append(f"and {len(problems) - MOST_PROBLEMS:,} more; --json lists all")
    return [head, *(Line(line) for line in said)]
