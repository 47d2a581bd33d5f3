"""What `fencecast check` reads and `run` does not look at: accepted findings, limits of the review, land of others."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

from fencecast.errors import UsageError, close_match, name_list, show_value
from fencecast.site.fields import Names, OneOf, Points, Text
from fencecast.site.number import Check, Number, Refusal, Refused
from fencecast.site.schema import Table

if TYPE_CHECKING:
    from fencecast.site.reading import Draft

# What is asked, in the order in which a reviewer asks: every id is stable, and an acceptance names it.
GROUPS: dict[str, tuple[str, ...]] = {
    "watched": (
        "no-rule", "idle-camera", "misses-rule", "line-end", "sections-apart", "sees-no-fence", "under-mast", "hidden",
        "corner-wedge", "not-in-view", "feet-unseen", "no-partner", "not-heard", "gate", "one-camera",
    ),
    "picture": (
        "resolution", "gait-far", "sky", "sun", "over-horizon", "head-cut", "edge-of-frame", "noise-alarms", "stated-field",
    ),
    "time": ("dwell", "area-thin", "dwell-too-long", "inside-reversed", "rule-outside", "area-outside", "rule-deep"),
    "obstacles": ("roof-route", "climbing-aid", "clear-zone", "own-wall", "moveable"),
    "failure": ("dependence-loss", "same-dependence", "camera-outside"),
    "mounting": ("tolerance-zero", "aim-opens-gap", "metres-per-degree", "low-mount", "sway"),
    "weather": (
        "no-fog", "no-rain", "no-crossover", "rain-but-dry", "fog-one-value", "odd-class", "record-gaps", "record-no-fog",
        "record-short", "record-far",
    ),
    "claim": ("proof-size", "requirement-default", "intruders", "independent", "long-segments"),
    "land": ("overspill", "land-in-view"),
    "nuisance": ("passers-near-line", "size-gate-low", "never-on-ground", "source-unseen"),
    "file": ("check-this", "feet-for-metres", "outside-yard", "place-contradicts"),
}  # fmt: skip
IDS: tuple[str, ...] = tuple(name for names in GROUPS.values() for name in names)
GROUP_OF: dict[str, str] = {name: group for group, names in GROUPS.items() for name in names}


def _limit(noun: str, default: float, high: float, low: float = 0.0, shown: str = "") -> tuple[float, Number]:
    return default, Number(noun, default, at_least=low, at_most=high, shown=shown)


# Limits that a site may move: default and what is allowed. Defaults are common practice or judgement.
LIMITS: dict[str, tuple[float, Number]] = {
    "least-stretch-m": _limit("a length", 1.0, 10.0, 0.5, " m"),
    "section-gap-m": _limit("a distance", 10.0, 100.0, 0.5, " m"),
    "line-end-share": _limit("a share", 0.05, 1.0),
    "not-heard-m": _limit("a length", 3.0, 1000.0, 0.5, " m"),
    "gate-cameras": _limit("a number of cameras", 2.0, 8.0),
    "gait-far-m": _limit("a length", 3.0, 1000.0, 0.5, " m"),
    "sky-share": _limit("a share", 0.15, 1.0),
    "sun-hours": _limit("hours a year", 5.0, 8784.0),
    "edge-share": _limit("a share of the picture's width on each side", 0.10, 0.45),
    "noise-alarms": _limit("alarms a day", 0.1, 1000.0),
    "stated-field-deg": _limit("an angle", 3.0, 90.0, shown=" degrees"),
    "rule-deep-m": _limit("a distance", 5.0, 1000.0, shown=" m"),
    "roof-route-m": _limit("a distance", 0.3, 20.0, shown=" m"),
    "climbing-aid-m": _limit("a distance", 1.5, 20.0, shown=" m"),
    "clear-zone-m": _limit("a distance", 9.0, 100.0, shown=" m"),
    "own-wall-share": _limit("a share", 0.10, 1.0),
    "loss-share": _limit("a share", 0.50, 1.0),
    "same-dependence-m": _limit("a length", 2.0, 1000.0, 0.5, " m"),
    "aim-gap-m": _limit("a length", 2.0, 1000.0, 0.5, " m"),
    "metres-per-degree": _limit("metres", 5.0, 100.0, shown=" m"),
    "low-mount-m": _limit("a height", 3.0, 20.0, shown=" m"),
    "sway-px": _limit("pixels", 1.0, 100.0),
    "warm-ground-k": _limit("a temperature difference", 2.0, 20.0, -20.0, " K"),
    "unknown-share": _limit("a share", 0.02, 1.0),
    "fog-hours": _limit("hours a year", 10.0, 8784.0),
    "record-km": _limit("a distance", 25.0, 1000.0, shown=" km"),
    "proof-walks": _limit("a number of walks", 60.0, 100_000.0, 1.0),
    "proof-hours": _limit("hours", 40.0, 10_000.0, 1.0),
    "correlation": _limit("a correlation", 0.2, 0.9),
    "segment-m": _limit("a length", 3.0, 1000.0, 0.1, " m"),
    "overspill-m2": _limit("an area", 50.0, 1e6, shown=" m2"),
    "overspill-share": _limit("a share", 0.30, 1.0),
}
LAND = ("own", "private", "public", "rail", "water", "plants", "loose", "heat")


@dataclass(frozen=True)
class Id(Check):
    """The id of a check; "all" is refused, because an acceptance is of one finding."""

    def parse(self, value: object) -> str:
        if isinstance(value, str) and value in IDS:
            return value
        near = close_match(value, IDS) if isinstance(value, str) else None
        hint = f"did you mean {show_value(near)}? " if near else ""
        raise Refused(
            Refusal(value, f"{hint}the id of one check, as `fencecast check` prints it", show_value(near or "no-partner"))
        )


@dataclass(frozen=True)
class ObjectNames(Check):
    """What a finding is about, as printed: one name or a list of them; stored as a tuple."""

    def parse(self, value: object) -> tuple[str, ...]:
        example = '"camera C3"'
        try:
            names = Names("names of what was found, as `fencecast check` prints them", f"[{example}]").parse(
                [value] if isinstance(value, str) else value
            )
        except Refused:
            allowed = "what was found, as `fencecast check` prints it, or a list of such names"
            raise Refused(Refusal(value, allowed, example)) from None
        return names


@dataclass(frozen=True)
class Reason(Check):
    """A sentence of ten characters or more: an acceptance without a reason is none."""

    def parse(self, value: object) -> str:
        good = isinstance(value, str) and 10 <= len(value.strip()) <= 500 and value.isprintable()
        if not good:
            raise Refused(
                Refusal(value, "a reason: text in quotes, 10 to 500 characters", '"agreed with the owner, see minutes"')
            )
        return str(value).strip()


def day_of(text: str) -> datetime.date:
    """The day of a date that was typed for an option or an argument; UsageError for a text that is none."""
    try:
        return datetime.date.fromisoformat(text)
    except (TypeError, ValueError):
        raise UsageError(f'date "{text}" is not allowed: a day as year-month-day; type for instance 2026-11-29') from None


@dataclass(frozen=True)
class Date(Check):
    """A day, written without quotes as TOML writes it."""

    def parse(self, value: object) -> datetime.date:
        if isinstance(value, datetime.date) and not isinstance(value, datetime.datetime):
            return value
        raise Refused(Refusal(value, "a date without quotes", "2026-11-29"))


@dataclass(frozen=True)
class LimitTable(Check):
    """`{ NAME = number, ... }`: some limits of the review, each within its own range."""

    def parse(self, value: object) -> dict[str, float]:
        example = "{ sky-share = 0.20, clear-zone-m = 6.0 }"
        if not isinstance(value, Mapping):
            raise Refused(Refusal(value, "a table of limits by name (the page of the site file lists them)", example))
        parsed, refusals = {}, []
        for key, number in value.items():
            if key not in LIMITS:
                near = close_match(key, LIMITS)
                hint = f"did you mean {near}? " if near else ""
                known = f"{hint}known here: {name_list(LIMITS)}"
                refusals.append(Refusal(number, known, "", (str(key),), "is not a known limit"))
                continue
            try:
                parsed[str(key)] = LIMITS[key][1].parse(number)
            except Refused as refused:
                refusals += [Refusal(r.value, r.allowed, r.instead, (str(key),), r.fault, key) for r in refused.refusals]
        if refusals:
            raise Refused(*refusals)
        return parsed


_MEASURED = Number("a number", 8.5, at_least=-1e9, at_most=1e9)


class Accept(Table):
    """`[[accept]]`: one finding that was looked at and accepted; it opens again when it becomes worse, or after `until`."""

    check: Annotated[str, Id()]
    object: Annotated[tuple[str, ...], ObjectNames()]
    reason: Annotated[str, Reason()]
    by: Annotated[str, Text("who accepted it", "A. Reviewer", longest=80)]
    on: Annotated[datetime.date, Date()]
    measured: Annotated[float | None, _MEASURED] = None
    until: Annotated[datetime.date | None, Date()] = None


class Limits(Table):
    """`[check]`: limits of the review that differ from the defaults."""

    limits: Annotated[dict[str, float], LimitTable()] = {}


class Land(Table):
    """`[[land]]`: ground that a camera may see, and whose it is."""

    name: Annotated[str, Text("a name", "neighbour's garden")]
    points_m: Annotated[tuple[tuple[float, float], ...], Points(3, "[[0.0, -20.0], [30.0, -20.0], [30.0, -4.0], [0.0, -4.0]]")]
    ground: Annotated[str, OneOf(LAND)]


def check_review(draft: Draft) -> None:
    """Adds a problem to `draft` for keys of the review that do nothing where they stand, and for dates the wrong way round."""
    for entry in draft.repeated["obstacle"]:
        if "most_height_m" in entry.given and entry.has("most_height_m") and not entry.table.moveable:
            allowed = "only with moveable = true; leave it out, or say that it comes and goes"
            draft.refuse(f"{entry.where} most_height_m", entry.table.most_height_m, allowed, "moveable = true")
    for entry in draft.repeated["accept"]:
        table = entry.table
        if table.until is not None and table.on is not None and table.until < table.on:
            allowed = "a day after the one on which it was accepted; leave it out where it has no end"
            draft.refuse(f"{entry.where} until", table.until, allowed, f"until = {table.on + datetime.timedelta(days=365)}")
