"""What is asked of a walk plan, checked before anything is simulated.

Tests: tests/prove/walks/test_walk_plan.py.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from fencecast.errors import UnknownNameError, UsageError
from fencecast.prove.walks.chance import check_claim
from fencecast.site import Site
from fencecast.site.mounting import need_camera
from fencecast.site.schema import GAITS

GOALS = ("both", "accept", "calibrate")
DEFAULT_GAITS = ("walk", "crouch")
MOST_MINUTES, MOST_WALKS, MOST_FULL = 24 * 60, 1000, 20


@dataclass(frozen=True)
class Wishes:
    """Options of `make_plan` with defaults filled in. direction: of the walks that must alarm; heard: the one in which all rules
    listen, or `both`."""

    goal: str
    weather: str | None
    minutes: float
    walks: int | None
    gaits: tuple[str, ...]
    full: int | None
    misses: int
    places: tuple[str, ...]
    from_fence: bool
    seed: int
    together: bool
    direction: str
    heard: Literal["in", "out", "both"]

    @property
    def controls(self) -> bool:
        """Whether walks against the direction must not alarm: all rules are lines that hear one direction alone."""
        return self.heard != "both"


def checked(
    site: Site, goal: str, weather: str | None, minutes: float, walks: int | None, gaits: Sequence[str], full: int | None,
    misses: int, places: Sequence[str], from_fence: bool, seed: int, together: bool,
) -> Wishes:  # fmt: skip
    """The wishes; UsageError for what is not allowed, and for a site without cameras."""
    need_camera(site)
    if goal not in GOALS:
        raise UnknownNameError("goal", goal, GOALS, "a walk test")
    for gait in gaits:
        if gait not in GAITS:
            raise UnknownNameError("gait", gait, GAITS, "fencecast")
    if not (math.isfinite(minutes) and 0.0 < minutes <= MOST_MINUTES):
        raise UsageError(f"minutes {minutes:g} is not allowed: a number above 0, at most {MOST_MINUTES:,}; type for instance 120")
    _whole("walks", walks, 1, MOST_WALKS, 36)
    _whole("full", full, 0, MOST_FULL, 2)
    check_claim(site.requirement.pd, site.requirement.confidence, misses)
    directions = {rule.direction if rule.kind == "line" else "both" for rule in site.rule}
    return Wishes(
        goal, weather, float(minutes), walks, tuple(dict.fromkeys(gaits)) or DEFAULT_GAITS, full, misses, tuple(places),
        from_fence, seed, together,
        direction="out" if directions == {"outward"} else "in",
        heard="in" if directions == {"inward"} else "out" if directions == {"outward"} else "both",
    )  # fmt: skip


def _whole(name: str, value: int | None, least: int, most: int, example: int) -> None:
    if value is not None and (isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most):
        raise UsageError(f"{name} {value} is not allowed: a whole number from {least} to {most:,}; type for instance {example}")
