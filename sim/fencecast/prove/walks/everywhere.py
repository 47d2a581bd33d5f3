"""What it would take to show the requirement everywhere, place by place: the reason why walks are chosen and pooled.

Tests: tests/prove/walks/test_everywhere.py.
"""

from __future__ import annotations

from dataclasses import dataclass

from fencecast.prove.walks.chance import fixed
from fencecast.prove.walks.order import TRADE_MINUTES
from fencecast.prove.walks.places import watched_segments
from fencecast.prove.walks.planfile import WalkPlan
from fencecast.site import parse_site


@dataclass(frozen=True)
class Everywhere:
    """Walks that show the requirement at every segment and in every gait of a plan, no miss allowed, against the plan's own.

    walks_each: at one segment in one gait. planned: walks of the plan, controls left out; most: with all that may follow a miss.
    Hours are by the trade's 3 minutes a walk.
    """

    segments: int
    gaits: int
    walks_each: int
    planned: int
    most: int

    @property
    def walks(self) -> int:
        """All of them."""
        return self.segments * self.gaits * self.walks_each

    @property
    def hours(self) -> float:
        """Time of all of them."""
        return self.walks * TRADE_MINUTES / 60.0

    @property
    def planned_hours(self) -> float:
        """Time of the plan's walks."""
        return self.planned * TRADE_MINUTES / 60.0


def everywhere(plan: WalkPlan) -> Everywhere:
    """The comparison, from the plan alone."""
    walks = [trial for trial in plan.trials if not trial.control]
    gaits = {plan.kind_of(trial.kind).gait for trial in walks}
    return Everywhere(
        watched_segments(parse_site(plan.site_toml, "site_toml of the plan")),
        len(gaits),
        fixed(plan.requirement.pd, plan.requirement.confidence)[0],
        sum(trial.rung == 1 for trial in walks),
        len(walks),
    )
