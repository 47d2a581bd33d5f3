"""Where a walk can cross: the middle of each segment, and places that were typed.

Nobody climbs a fence thirty times. A walk that comes from outside crosses where there is no barrier, or a gate; from the fence,
which starts at its inside foot, it crosses anywhere. Tests: tests/prove/walks/test_choose.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fencecast.errors import UsageError
from fencecast.estimate.placecodes import section_letters
from fencecast.estimate.places import Section
from fencecast.estimate.typedplaces import chainage_at
from fencecast.site import Site
from fencecast.site.geometry import cut_segments, direction_at, in_gate, point_at, section_length_m, vertices

APART_M = 4.0  # of places of one test, so that a step to the side makes no place of another [common practice, no source]
CORNER_M = 3.0  # from a fence in another direction: a walk along that one alarms there too [judgement, no source]
BEND_DEG = 30.0  # a bend of less is no other direction
MOST = 60  # candidates: enough for the best six, and few enough to simulate in seconds


@dataclass(frozen=True)
class Spot:
    """A place where a walk may cross. section: index; open: no barrier stands there, or a gate; asked: typed by the user; corner:
    so near a corner that a walk goes along another fence."""

    section: int
    name: str
    chainage_m: float
    x_m: float
    y_m: float
    open: bool
    asked: bool = False
    corner: bool = False

    @property
    def label(self) -> str:
        """Its name in a plan: section and metres, `front 14`."""
        return f"{self.name} {self.chainage_m:g}"

    def apart(self, other: Spot) -> bool:
        """Whether two places are so far apart that one test may have both."""
        return float(np.hypot(self.x_m - other.x_m, self.y_m - other.y_m)) >= APART_M - 1e-9


@dataclass(frozen=True)
class _Fence:
    sections: tuple[Section, ...]


def spots_of(site: Site) -> list[Spot]:
    """Candidates in walking order: middles of the segments of every section that a rule watches, thinned to at most `MOST`."""
    found = []
    for index, section in enumerate(site.perimeter):
        if _watched(site, section.name):
            middles = cut_segments(section, site.site.segment_length_m).middle_m
            found += [spot_at(site, index, float(each)) for each in middles]
    if len(found) > MOST:
        found = [found[int(k)] for k in np.linspace(0, len(found) - 1, MOST)]
    return found


def watched_segments(site: Site) -> int:
    """How many segments the sections have that a rule watches."""
    watched = [section for section in site.perimeter if _watched(site, section.name)]
    return sum(len(cut_segments(section, site.site.segment_length_m).middle_m) for section in watched)


def spot_at(site: Site, section: int, chainage_m: float, asked: bool = False) -> Spot:
    """The place at a chainage [m] of a section (index), to the decimetre."""
    perimeter = site.perimeter[section]
    chainage = min(round(chainage_m, 1), section_length_m(perimeter))
    x, y = point_at(perimeter, chainage)
    passable = perimeter.barrier == "none" or bool(in_gate(perimeter, chainage))
    return Spot(section, perimeter.name, chainage, float(x), float(y), passable, asked, _at_corner(site, section, chainage))


def _at_corner(site: Site, section: int, chainage_m: float) -> bool:
    """Whether a fence in another direction is nearer than `CORNER_M`."""
    own = site.perimeter[section]
    here, along = point_at(own, chainage_m), direction_at(own, chainage_m)
    for other in site.perimeter:
        corners = vertices(other)
        edges = np.diff(corners, axis=0)
        length = np.hypot(*edges.T)
        turned = np.abs(edges @ along) / length < np.cos(np.radians(BEND_DEG))
        share = np.clip(np.einsum("ij,ij->i", here - corners[:-1], edges) / length**2, 0.0, 1.0)
        away = np.hypot(*(corners[:-1] + share[:, None] * edges - here).T)
        if (turned & (away < CORNER_M)).any():
            return True
    return False


def asked_spots(site: Site, places: Sequence[str]) -> list[Spot]:
    """Places as they were typed, `SECTION METRES`; UsageError for what is not there, for one without a rule, for one twice."""
    letters = section_letters(site)
    fence = _Fence(
        tuple(Section(k, letters[k], each.name, 0, 0, section_length_m(each), None) for k, each in enumerate(site.perimeter))
    )
    found: list[Spot] = []
    for text in places:
        section, chainage = chainage_at(fence, text)
        spot = spot_at(site, section.index, chainage, asked=True)
        if not _watched(site, section.name):
            raise UsageError(f"no rule watches section {section.name}: no walk there can raise an alarm; name another place")
        near = [other for other in found if not spot.apart(other)]
        if near:
            raise UsageError(
                f"places {near[0].label} and {spot.label} are nearer than {APART_M:g} m to each other: a step to the side makes "
                "one of the other; name places further apart"
            )
        found.append(spot)
    return found


def with_line_ahead(site: Site, spots: list[Spot], from_fence: bool) -> list[Spot]:
    """The places whose walks can cross a line. From the inside foot of a barrier a walk never crosses one outside the fence:
    UsageError when that leaves nothing, or takes a place that was asked for."""
    kept = [spot for spot in spots if not from_fence or spot.open or _line_inside(site, spot.name)]
    lost = [spot for spot in spots if spot not in kept and (spot.asked or not kept)]
    if lost:
        names = ", ".join(dict.fromkeys(spot.label if spot.asked else spot.name for spot in lost))
        raise UsageError(
            f"{names}: nothing can be walked, for the rule's line lies outside the fence (offset_m below 0), walks start at its "
            "inside foot, and nobody climbs a barrier; name places at gates, or set offset_m to 0 or more"
        )
    return kept


def _line_inside(site: Site, name: str) -> bool:
    """Whether a rule that may watch a section is an area, has points of its own, or a line on the fence or inside it."""
    mine = (rule for rule in site.rule if rule.perimeter in (name, None))
    return any(rule.kind == "area" or rule.perimeter is None or rule.offset_m >= 0.0 for rule in mine)


def _watched(site: Site, name: str) -> bool:
    """Whether some rule may watch a section: one of its own, or one with points of its own, which may lie anywhere."""
    return any(rule.perimeter in (name, None) for rule in site.rule)
