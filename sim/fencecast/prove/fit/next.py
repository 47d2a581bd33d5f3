"""Where the next few walks say most, from what is known by now: fixed lists waste walks where N50 is not what was assumed.

    import fencecast as fc
    more = fc.walk_next("yard-walks/plan.json", "yard-walks/log.csv")
    [(walk.place, walk.gait) for walk in more.walks]

Bayesian D-optimal (Chaloner and Larntz 1989): the kind that adds most to the mean of ln det of the precision of ln N50 and
correlation, over five values of N50 by the posterior; at most half of the walks at one place.
Tests: tests/prove/fit/test_next.py.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from os import PathLike

import numpy as np

from fencecast.errors import UsageError
from fencecast.estimate.options import Progress
from fencecast.prove.fit.crossings import Crossings, Simulated
from fencecast.prove.fit.earlier import prior_of_fit
from fencecast.prove.fit.grid import Array, Grid, mean_sd, quantiles
from fencecast.prove.fit.information import groups_of_kinds, information, kinds_to_walk
from fencecast.prove.fit.likelihood import place_likelihoods, place_names
from fencecast.prove.fit.posterior import Posterior, posterior
from fencecast.prove.fit.walkfit import Question, ask, simulated
from fencecast.prove.log.walked import Walker, WalkLog
from fencecast.prove.walks.planfile import Kind, WalkPlan
from fencecast.site import Site

MOST_WALKS = 48
LEVELS = (0.1, 0.3, 0.5, 0.7, 0.9)  # of N50, each for a fifth of the posterior


@dataclass(frozen=True)
class NextWalk:
    """One walk to make. pd_camera: expected now, per camera; sd_ln_n50: what ln N50 is then expected to have, at best."""

    kind: str
    place: str
    gait: str
    direction: str
    pd_camera: dict[str, float]
    sd_ln_n50: float


@dataclass(frozen=True, eq=False)
class NextWalks:
    """The next walks, best first. sd_ln_n50, sd_r: now; after_ln_n50, after_r: expected after them, at best.

    median: N50 now [cycles]. At best: places' own shifts are not counted, and walks at one place share theirs.
    """

    question: Question
    walks: tuple[NextWalk, ...]
    median: float
    sd_ln_n50: float
    sd_r: float
    after_ln_n50: float
    after_r: float


def walk_next(
    plan: str | PathLike[str] | WalkPlan,
    logs: str | PathLike[str] | Sequence[str | PathLike[str] | WalkLog],
    walks: int = 4,
    walkers: str | PathLike[str] | Mapping[str, Walker] | None = None,
    site: str | PathLike[str] | Site | None = None,
    threads: int | None = None,
    progress: Progress | None = None,
) -> NextWalks:
    """The next `walks` of the plan's kinds, by what the logs say already. walkers None: statures as the site has them.

    UsageError for a number of walks outside 1 to 48; errors of plan, logs and walkers as `walk_fit`.
    """
    if not 1 <= walks <= MOST_WALKS:
        raise UsageError(f"--walks is {walks}; allowed: 1 to {MOST_WALKS}; type for instance 4")
    question = ask(plan, logs, walkers, site)
    kinds = kinds_to_walk(question.plan)
    groups = groups_of_kinds(question.plan, kinds)
    of_kinds = Simulated(question.site, groups, question.plan.marks, question.plan.from_fence, threads=threads, progress=progress)
    return choose_next(question, simulated(question, threads, progress), kinds, of_kinds, walks)


def known_by_now(question: Question, crossings: Crossings) -> Posterior:
    """The posterior of the logs so far, under the prior of `walk_fit`."""
    prior = prior_of_fit(question)
    grid = Grid.about(prior.median)
    return posterior(place_names(question.groups), place_likelihoods(question.groups, [crossings], grid), prior, grid)


def choose_next(question: Question, crossings: Crossings, kinds: Sequence[Kind], of_kinds: Crossings, walks: int) -> NextWalks:
    """`walk_next` on crossings that are there already: of the groups walked, and of the kinds that may be."""
    known = known_by_now(question, crossings)
    points, joint = known.grid.ln_points, known.joint
    mean_ln, sd_ln = mean_sd(points, joint.sum(axis=1))
    mean_r, sd_r = mean_sd(known.grid.r_points, joint.sum(axis=0))
    both = float((joint * np.outer(points - mean_ln, known.grid.r_points - mean_r)).sum())
    precision = np.linalg.inv(np.array([[sd_ln**2, both], [both, sd_r**2]]))
    nodes = [math.exp(each) for each in quantiles(points, known.of_ln_cycles_50, LEVELS)]
    each = np.array([[information(of_kinds, k, n50, mean_r) for n50 in nodes] for k in range(len(kinds))])
    chosen = _greedy(kinds, each, precision, walks)
    median = known.cycles_50().median
    found, total = [], np.zeros((len(nodes), 2, 2))
    for k in chosen:
        total += each[k]
        pd = of_kinds.camera_pd(k, np.array([median]))[0]
        named = {mark: float(pd[c]) for c, mark in enumerate(question.plan.marks) if pd[c] >= 0.001}
        found.append(
            NextWalk(kinds[k].kind, kinds[k].place, kinds[k].gait, kinds[k].direction, named, _after(precision, total)[0])
        )  # fmt: skip
    after = _after(precision, total)
    return NextWalks(question, tuple(found), median, sd_ln, sd_r, *after)


def _greedy(kinds: Sequence[Kind], each: Array, precision: Array, walks: int) -> list[int]:
    """Indices of kinds, one walk after the other; each (kinds, nodes, 2, 2)."""
    total = np.broadcast_to(precision, each.shape[1:]).copy()
    used: Counter[str] = Counter()
    most = max(math.ceil(walks / 2), math.ceil(walks / len({kind.place for kind in kinds})))
    chosen: list[int] = []
    for _ in range(walks):
        gain = np.linalg.slogdet(total + each)[1].mean(axis=1)
        free = [k for k in range(len(kinds)) if used[kinds[k].place] < most]
        best = max(free, key=lambda k: (gain[k], -k))
        chosen.append(best)
        used[kinds[best].place] += 1
        total += each[best]
    return chosen


def _after(precision: Array, total: Array) -> tuple[float, float]:
    """Expected standard deviations of ln N50 and correlation: mean variance over the nodes."""
    variance = np.linalg.inv(precision + total).mean(axis=0)
    return math.sqrt(variance[0, 0]), math.sqrt(variance[1, 1])
