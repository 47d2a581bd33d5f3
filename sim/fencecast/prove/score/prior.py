"""What the plan's prior allows: patterns of its kinds at draws of N50 and correlation, made again from the site text in the plan.

The same simulation as the plan's, with its seed; when it does not give the patterns that the plan has (another version of the
program made it), nothing is allowed for and the question stays open.

Tests: tests/prove/score/test_scoreprior.py.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from fencecast.prove.score.predictive import Patterns
from fencecast.prove.walks.asfinished import Crossed
from fencecast.prove.walks.kinds import Steps, simulate_walks
from fencecast.prove.walks.patterns import pattern_table
from fencecast.prove.walks.planfile import Kind, WalkPlan
from fencecast.prove.walks.prior import Prior, prior_of
from fencecast.site import Site

# Equally likely draws: middles of so many equal shares of the normal law of ln N50 and of the uniform one of the correlation.
N50_DRAWS, R_DRAWS = 20, 5
CROSSINGS = 128  # as in the plan
# Patterns of the plan and of the simulation made again agree within this.
SAME = 0.01


def prior_patterns(
    plan: WalkPlan,
    site: Site,
    names: Sequence[str],
    threads: int | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> list[Patterns] | None:
    """Patterns of the named kinds at each draw; None when the simulation is not the one of which the plan was made.

    site: the plan's own, as `planned_site` makes it.
    """
    kinds = [plan.kind_of(name) for name in sorted(set(names))]
    places = {place.place: place for place in plan.places}
    walks = [Crossed(places[kind.place].section, places[kind.place].chainage_m, kind.gait, kind.direction) for kind in kinds]
    steps = simulate_walks(
        site, walks, plan.weather, crossings=CROSSINGS, seed=plan.seed, from_fence=plan.from_fence, threads=threads,
        progress=progress,
    )  # fmt: skip
    return draws_of(plan, kinds, steps, replace(prior_of(site), median=plan.prior_median, spread=plan.prior_spread))


def draws_of(plan: WalkPlan, kinds: Sequence[Kind], steps: Steps, prior: Prior) -> list[Patterns] | None:
    """The patterns of kinds from their steps (row i of steps: kinds[i]); None when the plan's are not among them.

    prior: of the plan's site, with which its own patterns were made.
    """
    for row, kind in enumerate(kinds):
        again = _patterns(steps, row, kind, plan.prior_median, prior.correlation)
        if any(abs(again[name] - kind.patterns.get(name, 0.0)) > SAME for name in again):
            return None
    return [
        {kind.kind: _patterns(steps, row, kind, n, r) for row, kind in enumerate(kinds)}
        for n, r in prior.equal_draws(N50_DRAWS, R_DRAWS)
    ]


def _patterns(steps: Steps, row: int, kind: Kind, cycles_50: float, correlation: float) -> dict[str, float]:
    named = list(kind.pd_camera)
    table = pattern_table(steps, row, [steps.marks.index(mark) for mark in named], cycles_50, correlation) if named else [1.0]
    return {
        "+".join(mark for bit, mark in enumerate(named) if number >> bit & 1): float(share) for number, share in enumerate(table)
    }
