"""The tables of hourly weather: `[weather_file]`, where the record is, and `[armed]`, when the system watches."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated
from zoneinfo import ZoneInfo, available_timezones

from fencecast.errors import close_match, show_value
from fencecast.site.columns import Columns
from fencecast.site.fields import OneOf, Text, as_sequence
from fencecast.site.number import Check, Number, Refusal, Refused
from fencecast.site.quantity import Quantity
from fencecast.site.schema import Table
from fencecast.site.varying import Varying

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
LOCAL_STANDARD = "local standard"
_MINUTES_A_DAY = 24 * 60
_SPAN = re.compile(r"(\d{1,2}):(\d{2})-(\d{1,2}):(\d{2})")
_SPANS_EXAMPLE = '["18:00-06:00"]'
_SPANS_ALLOWED = 'a list of spans "HH:MM-HH:MM" by the clock, over midnight too, from 00:00 to 24:00'


def known_zone(name: object) -> bool:
    """Whether the zone database has this time zone."""
    try:
        return isinstance(name, str) and name != LOCAL_STANDARD and bool(ZoneInfo(name))
    except (KeyError, ValueError, OSError):
        return False


@dataclass(frozen=True)
class ZoneName(Check):
    """A time zone of the zone database, or one of a few words of our own."""

    also: tuple[str, ...] = ()

    def parse(self, value: object) -> str:
        if isinstance(value, str) and (value in self.also or known_zone(value)):
            return str(value)
        words = "".join(f"{show_value(word)}, " for word in self.also)
        near = close_match(value, [*self.also, *available_timezones()]) if isinstance(value, str) else None
        allowed = f'{words}"UTC" or a time zone of the zone database, such as "Europe/Berlin"'
        raise Refused(Refusal(value, allowed, show_value(near or "UTC")))


@dataclass(frozen=True)
class Span:
    """A daily span by the clock: it starts on `days` (0 is Monday) and runs over midnight when `end` is not after `start`."""

    days: frozenset[int]
    start_min: int
    end_min: int


def _minutes(hours: str, minutes: str) -> int:
    total = int(hours) * 60 + int(minutes)
    if int(minutes) > 59 or total > _MINUTES_A_DAY:
        raise ValueError("no time of day")
    return total


def _span(text: object, days: frozenset[int]) -> Span:
    found = _SPAN.fullmatch(text) if isinstance(text, str) else None
    if not found:
        raise ValueError("not a span")
    start, end = _minutes(found[1], found[2]), _minutes(found[3], found[4])
    if start in (end, _MINUTES_A_DAY) or end == 0:
        raise ValueError("an empty span, or one that starts at 24:00 or ends at 00:00")
    return Span(days, start, end)


def _days(text: object) -> frozenset[int]:
    """Days of "fri", "mon-fri" or "fri-mon"."""
    first, _, last = str(text).partition("-")
    if first not in DAYS or (last or first) not in DAYS:
        raise ValueError("no days")
    low, high = DAYS.index(first), DAYS.index(last or first)
    return frozenset((low + k) % 7 for k in range((high - low) % 7 + 1))


def spans_of(hours: Mapping | tuple | list) -> tuple[Span, ...]:
    """The spans of a schedule as the site file writes it: a list for all days, or a table from days to lists."""
    if isinstance(hours, Mapping):
        return tuple(_span(text, _days(days)) for days, texts in hours.items() for text in texts)
    return tuple(_span(text, frozenset(range(7))) for text in hours)


@dataclass(frozen=True)
class Schedule(Check):
    """Hours by the clock, for all days or by weekday."""

    def parse(self, value: object) -> tuple[str, ...] | dict[str, tuple[str, ...]]:
        if not isinstance(value, Mapping):
            return self._list(value, ())
        if not value:
            raise Refused(Refusal(value, _SPANS_ALLOWED, _SPANS_EXAMPLE))
        parsed, refusals = {}, []
        for days, texts in value.items():
            try:
                _days(days)
            except ValueError:
                allowed = f"days as keys, one or a range: {', '.join(DAYS)}, such as mon-fri"
                refusals.append(Refusal(texts, allowed, f"{{ mon-fri = {_SPANS_EXAMPLE} }}", (str(days),), "is for no day"))
                continue
            try:
                parsed[str(days)] = self._list(texts, (str(days),))
            except Refused as refused:
                refusals += refused.refusals
        if refusals:
            raise Refused(*refusals)
        return parsed

    @staticmethod
    def _list(value: object, path: tuple[str, ...]) -> tuple[str, ...]:
        texts = as_sequence(value)
        key = path[0] if path else ""
        if not texts:
            raise Refused(Refusal(value, _SPANS_ALLOWED, _SPANS_EXAMPLE, path, key=key))
        for text in texts:
            try:
                _span(text, frozenset())
            except ValueError:
                allowed = f'{_SPANS_ALLOWED}; a whole day is "00:00-24:00"'
                raise Refused(Refusal(text, allowed, _SPANS_EXAMPLE, path, key=key)) from None
        return tuple(texts)


_PARTS = ("year", "month", "day", "hour")
_TIME_EXAMPLE = '{ column = "time", zone = "local standard" }'


@dataclass(frozen=True)
class TimeColumns(Check):
    """Where a CSV file keeps its time, in which zone, and whether it names the start or the end of the hour."""

    def parse(self, value: object) -> dict[str, str]:
        allowed = (
            f"a table with column (a date with its time), or {', '.join(_PARTS)} (one column each); "
            'zone; marks ("start" or "end" of the hour); format'
        )
        if not isinstance(value, Mapping):
            raise Refused(Refusal(value, allowed, _TIME_EXAMPLE))
        refusals, parsed = [], {}
        known = {
            **dict.fromkeys(("column", *_PARTS), Text("the heading of a column", "time", longest=120)),
            "zone": ZoneName((LOCAL_STANDARD,)),
            "marks": OneOf(("start", "end")),
            "format": Text("a format as in Python's strptime", "%Y-%m-%d %H:%M"),
        }
        for key, part in value.items():
            if key not in known:
                refusals.append(Refusal(part, f"known here: {', '.join(known)}", "", (str(key),), "is not a known key"))
                continue
            try:
                parsed[key] = known[key].parse(part)
            except Refused as refused:
                refusals += [Refusal(r.value, r.allowed, r.instead, (key,), r.fault, key) for r in refused.refusals]
        given = [part for part in _PARTS if part in value]
        if any(key not in known for key in value):
            raise Refused(*refusals)
        if ("column" in value) == (len(given) == len(_PARTS)) or ("column" in value and given):
            refusals.append(Refusal(dict(value), allowed, _TIME_EXAMPLE))
        elif "format" in value and "column" not in value:
            refusals.append(Refusal(value["format"], "only with column; leave it out", "", ("format",)))
        if refusals:
            raise Refused(*refusals)
        return {"zone": LOCAL_STANDARD, "marks": "start", **parsed}


@dataclass(frozen=True)
class OnlyRows(Check):
    """Which rows of a CSV file belong to the station: a heading and what must stand under it."""

    def parse(self, value: object) -> dict[str, str]:
        good = isinstance(value, Mapping) and value
        good = good and all(isinstance(part, (str, int)) and not isinstance(part, bool) for part in value.values())
        if not good:
            allowed = "a table from the heading of a column to the text that the station's rows have there"
            raise Refused(Refusal(value, allowed, '{ station = "north" }'))
        return {str(heading): str(part) for heading, part in value.items()}


@dataclass(frozen=True)
class MissingMarks(Check):
    """What a CSV file writes where it has no value, besides an empty field."""

    def parse(self, value: object) -> tuple[str, ...]:
        marks = as_sequence(value)
        if not marks or not all(isinstance(mark, (str, int, float)) and not isinstance(mark, bool) for mark in marks):
            raise Refused(Refusal(value, "a list of what stands where a value is missing, text or numbers", "[-9999, 999.9]"))
        return tuple(str(mark) for mark in marks)


class WeatherFile(Table):
    """`[weather_file]`: an hourly record instead of `[[weather]]` tables. `columns` and what follows belong to CSV files."""

    path: Annotated[str, Text("the path of a file, from the folder of the site file", "station.csv", longest=500)]
    kind: Annotated[str | None, OneOf(("epw", "tmy3", "csv"))] = None
    visibility_convention: Annotated[str, OneOf(("optical_range", "visual_range"))] = "optical_range"
    least_share: Annotated[float, Number("a share of the armed hours", 0.9, above=0, at_most=1)] = 0.9
    clutter_k: Annotated[
        Quantity | None, Varying(Number("a temperature difference", 0.1, 0.3, at_least=0, at_most=50, unit="k_difference"))
    ] = None
    utc_offset_h: Annotated[
        float | None, Number("hours from UTC to local standard time", 1.0, at_least=-12, at_most=14, shown=" h")
    ] = None
    columns: Annotated[dict | None, Columns()] = None
    time: Annotated[dict | None, TimeColumns()] = None
    only: Annotated[dict | None, OnlyRows()] = None
    missing: Annotated[tuple[str, ...], MissingMarks()] = ()

    @property
    def file_kind(self) -> str:
        """The kind that was named; else EPW by its ending, CSV by its column map or time, and TMY3 otherwise."""
        if self.kind is not None:
            return self.kind
        if self.path.lower().endswith(".epw"):
            return "epw"
        return "tmy3" if self.columns is None and self.time is None else "csv"


class Armed(Table):
    """`[armed]`: an hour counts when its middle lies in the schedule and the sun is low enough; what is left out holds always."""

    hours: Annotated[tuple | dict | None, Schedule()] = None
    time_zone: Annotated[str | None, ZoneName()] = None
    sun_below_deg: Annotated[
        float | None, Number("an elevation of the sun", -3.0, at_least=-18, at_most=10, shown=" degrees")
    ] = None
