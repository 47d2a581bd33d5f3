"""The planted faults: thirty-odd yards with one mistake each, and ten with two; what is expected of each."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from planted import changes as c
from planted.base import Tables, base
from planted.expected import NORTH_AND_CORNER, SOUTH_AND_CORNER, WHOLE, Expected, one

Change = Callable[[Tables], None]


@dataclass(frozen=True)
class Fault:
    """A yard: what is changed in the base, one after the other, and the places that follow."""

    name: str
    changes: tuple[Change, ...]
    places: tuple[Expected, ...]

    def tables(self) -> Tables:
        """The base with this fault, as tables of a site file."""
        tables = base()
        for change in self.changes:
            change(tables)
        return tables


def _single(change: Change, *places: Expected) -> Fault:
    return Fault(change.__name__, (change,), places)


def _pair(name: str, changes: tuple[Change, Change], *places: Expected) -> Fault:
    return Fault(name, changes, places)


UNSEEN, UNRULED, SMALL, BRIEF, FAINT = "not in view", "no rule there", "too small", "too brief", "washed out"

SINGLE = (
    # Where cameras stand and look. Seen 2026-11-29 in base and fault, clear night.
    _single(c.foot_of_a_mast, one(UNSEEN, "blind ground|foot|mast|under|below|beneath|behind", (0.95, 0.01), ("south", 12, 20))),
    _single(c.back_to_back, one(UNSEEN, "between|M1|M2|blind ground|foot|mast", (0.97, 0.00), ("south", 16, 24))),
    _single(c.mast_lost, one(UNSEEN, "no camera|nobody|none", (0.95, 0.00), *SOUTH_AND_CORNER)),
    _single(c.corner_missed, one(UNSEEN, "S|E|away|behind|corner", (0.95, 0.03), ("south", 34, 40), ("east", 0, 4))),
    _single(c.turned_round, one(UNSEEN, "S", (0.95, 0.00), *SOUTH_AND_CORNER)),
    _single(c.over_the_yard, one(UNSEEN, "S", (0.95, 0.00), *SOUTH_AND_CORNER)),
    _single(c.too_flat, one(UNSEEN, "S|blind ground|below", (0.95, 0.08), ("south", 12, 20))),
    _single(c.too_low, one(UNSEEN, "above|beyond|too low|too steep|top|down", (0.95, 0.00), *SOUTH_AND_CORNER)),
    _single(c.lens_too_long, one(UNSEEN, "S|blind ground|below|lens", (0.95, 0.71), ("south", 12, 18))),
    # All cameras are off by 6 degrees, S's lens leaves least room: as drawn every metre meets.
    _single(
        c.mounting_errors,
        one(UNSEEN, "mounting|error|tolerance|hung|aim", (0.95, 0.83), *SOUTH_AND_CORNER, ("north", 36, 40), ("west", 0, 2)),
    ),
    # What stands in the way. In the half shadow at both ends (2 m) runners come out too late: too brief there.
    _single(c.stock, one(UNSEEN, "pipe stack", (0.95, 0.18), ("south", 14, 28))),
    _single(c.house_outside, one(UNSEEN, "pump house", (0.95, 0.00), ("south", 24, 46), ("east", 0, 4))),
    _single(c.kiosk_inside, one(UNSEEN, "kiosk", (0.95, 0.19), ("east", 12, 25), ("north", 0, 2))),
    _single(c.fence_between, one(UNSEEN, "stock fence", (0.95, 0.05), ("south", 18, 40), ("east", 0, 2))),
    _single(c.behind_the_wall, one(UNSEEN, "wall|fence|barrier|climb|hidden", (0.95, 0.00), ("south", 0, 40))),
    # Rules.
    _single(c.deaf_rule, one(UNRULED, "S|hear|listen", (0.95, 0.00), ("south", 12, 40))),
    _single(c.short_line, one(UNRULED, "rule|line|ends|short", (0.97, 0.00), ("south", 0, 10))),
    _single(c.line_in_a_corner, one(UNRULED, "corner|line|rule|offset", (0.97, 0.23), ("south-west", 18, 32))),
    _single(c.gap_at_a_bend, one(UNRULED, "line|rule|gap|corner", (0.95, 0.79), ("step", 4, 6), ("high south", 0, 2))),
    _single(c.far_camera_only, one(SMALL, "F|rule|hear|S", (0.95, 0.49), ("south", 0, 20))),
    _single(c.window_too_short, one(UNRULED, "window|rule|armed|looks", (0.95, 0.37), ("south", 0, 40))),
    # Lens, gait, looks.
    _single(c.lens_too_short, one(SMALL, "S|lens", (0.95, 0.29), ("south", 16, 40), ("east", 0, 4), never="crawl|stooped")),
    _single(c.crawlers, one(SMALL, "crawl", (0.95, 0.74), ("south", 30, 40), ("east", 0, 6), ("north", 30, 40), ("west", 0, 6))),
    _single(c.stooped, one(SMALL, "crouch|stoop|S|lens", (0.95, 0.66), ("south", 24, 40), ("east", 0, 4), never="crawl")),
    _single(c.strict_confirmation, one(BRIEF, "looks|confirm|8 of 8|alarm rule", (0.95, 0.73), *WHOLE)),
    _single(c.slow_looks, one(BRIEF, "looks", (0.95, 0.80), *WHOLE)),
    _single(c.narrow_view, one(BRIEF, "looks|run|narrow|Q", (0.98, 0.83), ("south", 12, 20))),
    # Signal and weather. The first three are weak on a clear night, and the fog is still the worse class.
    _single(c.clutter, one(FAINT, "clutter", (0.95, 0.26), *WHOLE)),
    _single(c.threshold, one(FAINT, "threshold", (0.95, 0.16), *WHOLE)),
    _single(c.noisy, one(FAINT, "noise|NETD|sensor|several", (0.95, 0.32), *WHOLE)),
    _single(c.fog, one(FAINT, "fog", (0.95, 0.58), *WHOLE, weather="thin fog")),
    # A cloudburst of 400 mm/h takes nothing over 40 m in this model; falling snow does.
    _single(c.snow, one(FAINT, "snow", (0.95, 0.00), *WHOLE, weather="snowstorm")),
    _single(c.drops, one(FAINT, "drops|window", (0.95, 0.47), *WHOLE, weather="drizzle")),
    _single(c.crossover, one(FAINT, "ground|crossover|clothing", (0.95, 0.67), *WHOLE, weather="warm dusk")),
    _single(c.wet_clothing, one(FAINT, "wet|soaked|clothing", (0.95, 0.76), *WHOLE, weather="after rain")),
)


def _short_lens_of_n(t: Tables) -> None:
    c.short_lens(t, "N")


_FAR_NORTH = (("north", 26, 40), ("west", 0, 4))
_FAR_SOUTH = (("south", 26, 40), ("east", 0, 4))

PAIRS = (
    _pair(
        "mast lost, line short",
        (c.mast_lost, c.north_line_short),
        one(UNSEEN, "no camera|nobody|none", (0.95, 0.00), *SOUTH_AND_CORNER, never="N"),
        one(UNRULED, "rule|line|ends|short", (0.95, 0.00), ("north", 0, 12)),
    ),
    _pair(  # the same side: the reason changes along it
        "line short, then turned round",
        (c.short_line, c.turned_round),
        one(UNRULED, "rule|line|ends|short", (0.97, 0.00), ("south", 0, 10)),
        one(UNSEEN, "S", (0.95, 0.00), *SOUTH_AND_CORNER),
    ),
    _pair(
        "stock, deaf rule",
        (c.stock, c.deaf_north),
        one(UNSEEN, "pipe stack", (0.95, 0.18), ("south", 14, 28)),
        one(UNRULED, "N|hear|listen", (0.95, 0.00), ("north", 12, 40), never="pipe stack"),
    ),
    _pair(
        "back to back, deaf rule",
        (c.back_to_back, c.deaf_north),
        one(UNSEEN, "between|M1|M2|blind ground|foot|mast", (0.97, 0.00), ("south", 16, 24)),
        one(UNRULED, "N|hear|listen", (0.95, 0.00), ("north", 12, 40)),
    ),
    _pair(
        "foot of a mast, line short",
        (c.foot_of_a_mast, c.north_line_short),
        one(UNSEEN, "blind ground|foot|mast|under|below|beneath|behind", (0.95, 0.01), ("south", 12, 20)),
        one(UNRULED, "rule|line|ends|short", (0.95, 0.00), ("north", 0, 12), never="blind ground"),
    ),
    _pair(
        "deaf rule, over the yard",
        (c.deaf_rule, c.north_over_the_yard),
        one(UNRULED, "S|hear|listen", (0.95, 0.00), ("south", 12, 40), never="N"),
        one(UNSEEN, "N", (0.95, 0.00), *NORTH_AND_CORNER, never="S"),
    ),
    _pair(  # one section, two reasons with sound metres between
        "line in a corner, lens too short",
        (c.line_in_a_corner, _short_lens_of_n),
        one(UNRULED, "corner|line|rule|offset", (0.97, 0.23), ("south-west", 18, 32)),
        one(SMALL, "N|lens", (0.95, 0.32), ("north", 16, 40), ("south-west", 0, 6)),
    ),
    _pair(  # the mildest class differs between the places
        "turned round, fog",
        (c.turned_round, c.fog),
        one(UNSEEN, "S", (0.95, 0.00), *SOUTH_AND_CORNER),
        one(FAINT, "fog", (0.95, 0.58), *_FAR_NORTH, weather="thin fog"),
    ),
    _pair(  # one weak stretch from 16 to 40 m: it is split at 30 m
        "lens too short, line ends",
        (c.lens_too_short, c.south_line_ends),
        one(SMALL, "S|lens", (0.95, 0.28), ("south", 16, 30), ("east", 0, 4)),
        one(UNRULED, "rule|line|ends|short", (0.95, 0.00), ("south", 30, 40)),
    ),
    _pair(
        "line short, wet clothing",
        (c.north_line_short, c.wet_clothing),
        one(UNRULED, "rule|line|ends|short", (0.95, 0.00), ("north", 0, 12)),
        one(FAINT, "wet|soaked|clothing", (0.95, 0.76), *_FAR_SOUTH, ("north", 26, 40), ("west", 0, 4), weather="after rain"),
    ),
)

FAULTS = SINGLE + PAIRS
