"""What the pictures of a walk plan draw, from the plan alone: lines of chances, the map with its places in their order."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from os import PathLike
from typing import Any

import numpy as np

from fencecast.findings.walkchance import passes_words, stops_words, test_words
from fencecast.findings.walkplan import ROLES, walk_plan_title
from fencecast.findings.walkwords import GAIT_NAMES
from fencecast.findings.words import confidence_text, first_upper, in_class, interval_text, pd_text, requirement_text
from fencecast.prove.walks import chance
from fencecast.prove.walks.planfile import WalkPlan, read_plan
from fencecast.show.aim.plandata import PlanSection, plan_buildings, plan_sections
from fencecast.show.paper.labels import short_marks
from fencecast.site import Site, parse_site

SEES = 0.5  # a camera that alarms by itself in half of the walks and more sees a place
_POINTS = 121


@dataclass(frozen=True)
class ChanceLine:
    """A plan of walks: its words, chance of passing (n,) at `WalkChanceData.pd`; reference: no claim of this test."""

    label: str
    chances: np.ndarray
    reference: bool


@dataclass(frozen=True)
class ChancePoint:
    """A claim as predicted: mean Pd of its walks and chance of passing, from the low end of the prior to what is predicted."""

    claim: str
    pd: float
    chance: float
    low_end: float
    over_prior: float
    line: int


@dataclass(frozen=True, eq=False)
class WalkChanceData:
    """What `plot_walk_chance` draws; pd (n,): true values."""

    title: str
    subtitle: str
    pd: np.ndarray
    lines: tuple[ChanceLine, ...]
    points: tuple[ChancePoint, ...]
    requirement: float
    attrs: Mapping[str, Any]


@dataclass(frozen=True)
class PlannedPlace:
    """A place: its number in the order of the walks, its way, what it is for, what is walked there, cameras that see it.

    rows: (gait, walks, Pd with its range), one for each kind; cameras: (mark, Pd by itself) of its first kind, best first.
    """

    number: int
    place: str
    role: str
    start_m: tuple[float, float]
    finish_m: tuple[float, float]
    rows: tuple[tuple[str, str, str], ...]
    cameras: tuple[tuple[str, float], ...]


@dataclass(frozen=True, eq=False)
class WalkPlanData:
    """What `plot_walk_plan` draws: the ground in the site's metres, cameras (mark, x, y, bearing [rad]), key: of marks
    that were shortened; places in their order."""

    title: str
    subtitle: str
    sections: tuple[PlanSection, ...]
    buildings: tuple[tuple[str, np.ndarray], ...]
    cameras: tuple[tuple[str, float, float, float], ...]
    key: str
    places: tuple[PlannedPlace, ...]
    attrs: Mapping[str, Any]


def as_plan(plan: WalkPlan | str | PathLike[str]) -> WalkPlan:
    """A plan, or the one in a file."""
    return plan if isinstance(plan, WalkPlan) else read_plan(str(plan))


def plan_attrs(plan: WalkPlan) -> dict[str, Any]:
    """What the foot of a picture says of a plan."""
    return {
        "title": plan.title,
        "version": plan.version,
        "what": f"seed {plan.seed} · predicted before the walks",
        "site_sha256": plan.site_sha256,
    }


def walk_chance_data(plan: WalkPlan | str | PathLike[str]) -> WalkChanceData:
    """Chances of passing by the true Pd: every claim's plan of walks, and the fixed plan without a miss beside them.

    plan: a plan or the path of a plan.json.
    """
    plan = as_plan(plan)
    required = plan.requirement.pd
    # As far below the requirement as twice what is missing to 1, but no lower than the lowest prediction needs.
    low = max(0.0, min([required - 0.5 * (1.0 - required), *(plan.claim_pd(claim) - 0.01 for claim in plan.claims)]))
    pd = np.linspace(low, 1.0, _POINTS)
    rows = {claim.stops: stops_words(claim.stops) for claim in plan.claims}
    names = {stops: ", ".join(claim.claim for claim in plan.claims if claim.stops == stops) for stops in rows}
    lines = [ChanceLine(f"{names[stops]}: {words}", chance.course(stops, pd).chance, False) for stops, words in rows.items()]
    fixed = chance.fixed(required, plan.requirement.confidence, 0)
    if fixed not in rows:
        lines.append(ChanceLine(stops_words(fixed), chance.course(fixed, pd).chance, True))
    if not plan.claims:
        ladder = chance.ladder(required, plan.requirement.confidence, 2)
        lines.append(ChanceLine(stops_words(ladder), chance.course(ladder, pd).chance, True))
    order = list(rows)
    points = tuple(
        ChancePoint(
            claim.claim,
            plan.claim_pd(claim),
            claim.chance.predicted,
            claim.chance.low_end,
            claim.chance.over_prior,
            order.index(claim.stops),
        )
        for claim in plan.claims
    )
    subtitle = (
        f"Chance that a test passes, by the true Pd of its walks; required {requirement_text(required)} at "
        f"{confidence_text(plan.requirement.confidence)}; exact, for independent walks"
    )
    return WalkChanceData(_chance_title(plan), subtitle, pd, tuple(lines), points, required, plan_attrs(plan))


def _chance_title(plan: WalkPlan) -> str:
    if not plan.claims:
        fixed = chance.fixed(plan.requirement.pd, plan.requirement.confidence, 0)
        good = 0.5 + 0.5 * plan.requirement.pd
        passes = passes_words(chance.chance_of(fixed, good))
        return f"No claim is made; {test_words(fixed)} would pass {passes} at a Pd of {good:g}"
    lowest = min(plan.claims, key=lambda claim: claim.chance.predicted)
    few = f" (of {len(plan.claims)} claims the lowest)" if len(plan.claims) > 1 else ""
    passes = passes_words(lowest.chance.predicted)
    return f"{first_upper(test_words(lowest.stops))} passes {passes} at Pd {plan.claim_pd(lowest):.3f}{few}"


def walk_plan_data(plan: WalkPlan | str | PathLike[str]) -> WalkPlanData:
    """The map of a plan; everything from the plan and the site that it carries.

    plan: a plan or the path of a plan.json.
    """
    plan = as_plan(plan)
    site = parse_site(plan.site_toml)
    order = list(dict.fromkeys(plan.kind_of(trial.kind).place for trial in plan.trials))
    names, key = short_marks(plan.marks)
    places = []
    for label in order:
        place = next(each for each in plan.places if each.place == label)
        kinds = [kind for kind in plan.kinds if kind.place == label and any(_walked(plan, kind.kind))]
        rows = tuple(
            (GAIT_NAMES[kind.gait], f"{sum(_walked(plan, kind.kind))}", interval_text(kind.pd, kind.pd_low, kind.pd_high))
            for kind in kinds
        )
        seen = sorted(kinds[0].pd_camera.items(), key=lambda each: -each[1]) if kinds else []
        places.append(
            PlannedPlace(
                order.index(label) + 1, label, ROLES[place.role], place.start_m, place.finish_m, rows,
                tuple((names[mark], pd) for mark, pd in seen),
            )
        )  # fmt: skip
    return WalkPlanData(
        walk_plan_title(plan),
        f"Places numbered in the order of the first round, {in_class(plan.weather)}; dot: start, arrow: finish",
        plan_sections(site), plan_buildings(site), _cameras(site, names), key, tuple(places), plan_attrs(plan),
    )  # fmt: skip


def _walked(plan: WalkPlan, kind: str) -> list[bool]:
    return [trial.kind == kind and trial.rung == 1 and not trial.control for trial in plan.trials]


def _cameras(site: Site, names: Mapping[str, str]) -> tuple[tuple[str, float, float, float], ...]:
    return tuple(
        (names[each.mark], *(float(v) for v in each.position_m), float(np.radians(each.bearing_deg or 0.0)))
        for each in site.camera
    )


def camera_words(cameras: tuple[tuple[str, float], ...]) -> str:
    """`W 0.86, E 0.74`, at most four of them."""
    return ", ".join(f"{mark} {pd_text(pd)}" for mark, pd in cameras[:4]) or "none"
