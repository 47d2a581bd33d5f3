"""The cheapest single change that mends a site: one camera turned, one lens swapped, or one camera added."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from os import PathLike

import numpy as np

from fencecast.decide.layout import changed, free_marks
from fencecast.decide.place.candidates import NEW, candidates
from fencecast.decide.place.demand import demand_of, target_of
from fencecast.decide.place.joint import POINTS
from fencecast.decide.place.kit import kit_of
from fencecast.decide.place.proposal import change_words
from fencecast.decide.place.reach import counted, reaches
from fencecast.decide.place.search import LEAST_GAIN, State, make_task
from fencecast.decide.place.views import targets_of
from fencecast.errors import UsageError
from fencecast.estimate.options import DEFAULT_PRECISION, Progress, RunOptions
from fencecast.job import chosen_hours, chosen_weather
from fencecast.meteorology.load import classes_of
from fencecast.meteorology.year import Year
from fencecast.site import Site, as_site

MOST = 120
# The names of the streams of crossings ("cure ...") are part of the numbers: another name would draw other crossings.
_FRESH_POINTS = 32  # of each scrambling: 256 fresh crossings a cell, the same before and after
_TRIED_AGAIN = 3  # so many of the best changes are compared with each other on crossings of their own


@dataclass(frozen=True)
class Remedy:
    """One change, and what it brings on crossings that chose nothing: before and after on the same ones.

    mends: every metre meets it; kind: "turned", "lens" or "new"; cost None without prices; (pd, low, high) of the lowest
    cell; metres weak and undecided over the fence by its worst class; place and weather of the lowest cell before.
    """

    words: str
    kind: str
    mends: bool
    cost: float | None
    place: str
    weather: str
    before: tuple[float, float, float]
    at_place: tuple[float, float, float]
    after: tuple[float, float, float]
    weak_m: tuple[float, float]
    undecided_m: tuple[float, float]
    tried: int
    assumed: tuple[str, ...]


def remedy(
    site: Site | str | PathLike[str],
    seed: int | None = None,
    precision: float = DEFAULT_PRECISION,
    weather: Sequence[str] = (),
    stress: str = "",
    threads: int | None = None,
    progress: Progress | None = None,
    year: Year | None = None,
) -> Remedy | None:
    """The cheapest change found that lets every metre meet the requirement; when none does, the one that comes nearest.

    Arguments as in `run`. Changes are compared on one set of crossings, the best few again on a second, and the chosen one is
    reported from a third. Without [[mounting]] tables cameras are added along the fences and at existing masts. Returns None when
    no change helps.
    """
    site = as_site(site)
    options = RunOptions.of(site, seed, precision, threads=threads, progress=progress)
    hours = chosen_hours(site, stress, year)
    classes = counted(chosen_weather(site, weather, classes_of(site, hours)))
    seed, threads, tell = options.seed, options.threads, progress or (lambda *_: None)
    kit, demand, targets = kit_of(site), demand_of(site, classes, seed, threads), targets_of(site)
    target = target_of(site.requirement, precision)
    try:
        found, _ = reaches(
            site, kit, site.requirement, classes, seed=seed, threads=threads, heights=tuple(c.height_m for c in site.camera)
        )
    except UsageError:  # no lens of the kit meets the requirement anywhere: no single change will
        return None
    own = candidates(site, kit, found, targets, np.ones(len(targets.points)), 0, new=False, change=False)
    base = tuple(range(len(own)))
    pd = demand.simulate(own, "cure", POINTS).pd(base).reshape(len(classes), -1)[:, targets.segments]
    need = np.clip((target - pd) / target, 0.0, 1.0).max(axis=0)
    chosen = candidates(site, kit, found, targets, need, MOST)
    joint = demand.simulate(chosen, "cure", POINTS, partial(tell, "What single change helps most"))
    task = make_task(joint, chosen, demand.metres, np.full(len(demand.metres), target), base)
    ranked = _ranked(task, base, task.full)
    if not ranked:
        return None
    best = ranked[:_TRIED_AGAIN]
    used = sorted({*base, *(j for j, _ in best)})
    again = demand.simulate([chosen[c] for c in used], "cure again", POINTS, partial(tell, "The best of them again"))
    second = make_task(again, [chosen[c] for c in used], demand.metres, task.caps, range(len(base)))
    order = _ranked(second, tuple(range(len(base))), second.full)
    if not order:
        return None
    j = used[order[0][0]]
    return _reported(task, base, j, demand, kit, site, tell)


def _ranked(task, base, full: float) -> list[tuple[int, float]]:
    """Changes that gain, best first: those that bring every cell to the target by cost, then the others by gain."""
    state = State(task, base)
    moves = [(j, gain, change) for j, _, gain, change in state.moves() if gain > LEAST_GAIN]

    def rank(move):
        j, gain, change = move
        mends = state.worth + gain >= full - 1e-4
        return (not mends, change if mends else 0.0, -gain, j)

    return [(j, gain) for j, gain, _ in sorted(moves, key=rank)]


def _reported(task, base, j: int, demand, kit, site, tell) -> Remedy:
    candidate = task.candidates[j]
    rows = [*base, j]
    fresh = demand.simulate(
        [task.candidates[c] for c in rows], "cure fresh", _FRESH_POINTS, partial(tell, "The change, on fresh crossings")
    )
    old = list(range(len(base)))
    new = [k for k in old if candidate.group == NEW or task.candidates[base[k]].group != candidate.group] + [len(base)]
    _, _, before, metres_before = demand.judged(fresh, old)
    pd, half, after, metres_after = demand.judged(fresh, new)
    cell = before[3]
    if candidate.group == NEW:  # candidates are numbered among themselves
        candidate = replace(candidate, camera=changed(candidate.camera, mark=free_marks(site, 1)[0]))
    at_place = tuple(float(v) for v in (pd[cell], max(pd[cell] - half[cell], 0.0), min(pd[cell] + half[cell], 1.0)))
    return Remedy(
        words=change_words(site, candidate),
        kind=candidate.kind,
        mends=metres_after[1] + metres_after[2] < 1e-9,
        cost=candidate.cost if kit.priced else None,
        place=demand.codes[cell % len(demand.codes)],
        weather=demand.classes[cell // len(demand.codes)].name,
        before=before[:3],
        at_place=at_place,
        after=after[:3],
        weak_m=(metres_before[2], metres_after[2]),
        undecided_m=(metres_before[1], metres_after[1]),
        tried=sum(c.kind != "as it is" for c in task.candidates),
        assumed=kit.assumed,
    )
