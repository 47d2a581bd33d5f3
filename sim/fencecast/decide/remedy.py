"""What mends a site, step by step: free changes first, then a lens, a height, one camera more."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from os import PathLike

import numpy as np

from fencecast.decide.freechanges import rule_changes
from fencecast.decide.layout import changed, free_marks, with_cameras
from fencecast.decide.place.candidates import NEW, Candidate, candidates
from fencecast.decide.place.demand import Demand, demand_of, target_of
from fencecast.decide.place.joint import POINTS
from fencecast.decide.place.kit import Kit, kit_of
from fencecast.decide.place.proposal import change_words
from fencecast.decide.place.reach import counted, reaches
from fencecast.decide.place.search import LEAST_GAIN, State, make_task
from fencecast.decide.place.views import targets_of
from fencecast.decide.remedybench import Bench
from fencecast.decide.remedyfacts import RemedyCells, RemedyFacts, RemedyStep
from fencecast.errors import UsageError
from fencecast.estimate.intervals import verdicts
from fencecast.estimate.options import DEFAULT_PRECISION, Progress, RunOptions
from fencecast.job import chosen_hours, chosen_weather
from fencecast.meteorology.load import classes_of
from fencecast.meteorology.year import Year
from fencecast.site import Site, as_site
from fencecast.site.geometry import cut_segments

MOST = 80
# The names of the streams of crossings ("cure ...") are part of the numbers: another name would draw other crossings.
_FRESH_POINTS = 32  # of each scrambling: 256 fresh crossings a cell, the same before and after every step
_AGAIN_POINTS = 8
_RULE_POINTS = 4
_TRIED_AGAIN = 2  # so many of the best changes of a kind are compared with each other on crossings of their own
_LEAST_M = 2.0  # a step that adds less is a small one; two small ones in a row end the way (judgement)
_MOST_STEPS, _MOST_DEAR = 8, 4  # in all, and of those that cost parts: free ones must not use up the way to a camera more
_HEIGHTS_M = (3.0, 4.0, 5.0, 6.0, 8.0)
KINDS = (("rule", "turned"), ("lens",), ("height",), ("new",))  # from free to dear


@dataclass(frozen=True)
class Remedy(RemedyFacts):
    """What `remedy` found; site: with all changes; cells: every cell before and after each change."""

    site: Site = field(kw_only=True, repr=False)
    cells: RemedyCells | None = field(default=None, kw_only=True, repr=False, compare=False)


@dataclass(frozen=True)
class _Change:
    site: Site
    words: str
    kind: str
    cost: float


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
    """Changes that mend a site, one after the other: what costs nothing first, until it meets or a step adds hardly anything.

    Arguments as in `run`. In each step changes are compared on one set of crossings, the best few of each kind again on a second;
    the first kind, from free to dear, that adds 2 m or more is taken, else what helps most; the way is reported from a third set.
    Without [[mounting]] tables cameras are added along the fences and at existing masts. Returns None when nothing helps.
    """
    site = as_site(site)
    options = RunOptions.of(site, seed, precision, threads=threads, progress=progress)
    classes = counted(chosen_weather(site, weather, classes_of(site, chosen_hours(site, stress, year))))
    tell = progress or (lambda *_: None)
    kit, demand = kit_of(site, by_price=False), demand_of(site, classes, options.seed, options.threads)
    bench, target, way, small = Bench(demand), target_of(site.requirement, precision), [], 0
    current, pd = site, bench.pd(site, "cure again", _AGAIN_POINTS)[0]
    while (
        len(way) < _MOST_STEPS
        and sum(each.kind not in KINDS[0] for each in way) < _MOST_DEAR
        and bench.short_m(pd) > 0.0
        and small < 2
    ):
        tell(f"What helps most, step {len(way) + 1}", 0, 1)
        step = _next(current, pd, bench, kit, target, tell)
        if step is None:
            break
        change, after = step
        small = small + 1 if bench.short_m(pd) - bench.short_m(after) < _LEAST_M else 0
        way.append(change)
        current, pd = change.site, after
    del way[max(len(way) - small, 1) :]  # steps at the end that add next to nothing are not worth naming
    return _reported(site, way, bench, kit, tell) if way else None


def _next(site: Site, pd: np.ndarray, bench: Bench, kit: Kit, target: float, tell) -> tuple[_Change, np.ndarray] | None:
    """The next change and the Pd with it, (cells,); None when nothing gains."""
    best = None
    moves = None
    for kinds in KINDS:
        tried = []
        if "rule" in kinds:
            # Only where something is short can a rule help; what it takes elsewhere shows in the second look.
            short = pd < target
            sections = {_section_of(bench.demand, cell) for cell in np.flatnonzero(short)}
            offered = rule_changes(site, sections)
            tried += [_Change(each.site, each.words, each.kind, 0.0) for each in offered]
            bench.tried += len(tried)
            first = [(bench.worth(bench.pd(each.site, "cure rules", _RULE_POINTS, short)[0], target), each) for each in tried]
            tried = [each for _, each in sorted(first, key=lambda pair: -pair[0])[:_TRIED_AGAIN]]
        moves = _camera_moves(site, pd, bench, kit, target, tell) if moves is None else moves
        tried += [each for each in moves if each.kind in kinds][:_TRIED_AGAIN]
        ends = [(change, bench.pd(change.site, "cure again", _AGAIN_POINTS)[0]) for change in tried]
        gains = [(bench.worth(after, target) - bench.worth(pd, target), change, after) for change, after in ends]
        gains = [each for each in gains if each[0] > LEAST_GAIN * target]
        if not gains:
            continue
        gain, change, after = max(gains, key=lambda each: (bench.short_m(pd) - bench.short_m(each[2]), each[0]))
        if bench.short_m(pd) - bench.short_m(after) >= _LEAST_M:
            return change, after
        if best is None or gain > best[0]:
            best = gain, change, after
    return None if best is None else best[1:]


def _section_of(demand: Demand, cell: int) -> str:
    """The name of the section of a cell."""
    counts = np.cumsum([len(cut_segments(each, demand.site.site.segment_length_m)) for each in demand.site.perimeter])
    return demand.site.perimeter[int(np.searchsorted(counts, cell % len(demand.codes), side="right"))].name


def _camera_moves(site: Site, pd: np.ndarray, bench: Bench, kit: Kit, target: float, tell) -> list[_Change]:
    """Cameras turned, with another lens or height, or added, the best for the crossings of the search first."""
    demand = bench.demand
    targets = targets_of(site)
    heights = tuple(c.height_m for c in site.camera)
    try:
        found, _ = reaches(site, kit, site.requirement, demand.classes, seed=demand.seed, threads=demand.threads, heights=heights)
    except UsageError:  # no lens of the kit meets the requirement anywhere: no camera will
        return []
    need = np.clip((target - pd.reshape(len(demand.classes), -1)[:, targets.segments]) / target, 0.0, 1.0).max(axis=0)
    chosen = [*candidates(site, kit, found, targets, need, MOST), *_heights(site, kit)]
    bench.tried += sum(c.kind != "as it is" for c in chosen)
    here = replace(demand, site=site)
    joint = here.simulate(chosen, "cure", POINTS, partial(tell, "Which camera helps most"))
    task = make_task(joint, chosen, demand.metres, np.full(len(demand.metres), target), range(len(site.camera)))
    return [_moved(site, chosen[j]) for j, _ in _ranked(task, task.base, task.full)]


def _heights(site: Site, kit: Kit) -> list[Candidate]:
    """Every camera at other heights, its view's centre at the same spot on the ground."""
    found = []
    for k, camera in enumerate(site.camera):
        for height in _HEIGHTS_M:
            if abs(height - camera.height_m) < 0.5:
                continue
            slope = math.tan(math.radians(min(camera.depression_deg, 89.0))) * height / camera.height_m
            aim = {"bearing_deg": round(camera.bearing_deg, 2), "depression_deg": round(math.degrees(math.atan(slope)), 2)}
            found.append(Candidate(changed(camera, height_m=height, **aim), kit.reaim_cost(), "height", k))
    return found


def _moved(site: Site, candidate: Candidate) -> _Change:
    """A candidate as a change of the site."""
    cameras = list(site.camera)
    if candidate.group == NEW:  # candidates are numbered among themselves
        candidate = replace(candidate, camera=changed(candidate.camera, mark=free_marks(site, 1)[0]))
        cameras.append(candidate.camera)
    else:
        cameras[candidate.group] = candidate.camera
    return _Change(with_cameras(site, cameras), change_words(site, candidate), candidate.kind, candidate.cost)


def _ranked(task, base, full: float) -> list[tuple[int, float]]:
    """Changes that gain, best first: those that bring every cell to the target by cost, then the others by gain."""
    state = State(task, base)
    moves = [(j, gain, change) for j, _, gain, change in state.moves() if gain > LEAST_GAIN]

    def rank(move):
        j, gain, change = move
        mends = state.worth + gain >= full - 1e-4
        return (not mends, change if mends else 0.0, -gain, j)

    return [(j, gain) for j, gain, _ in sorted(moves, key=rank)]


def _reported(site: Site, way: list[_Change], bench: Bench, kit: Kit, tell) -> Remedy:
    """What every step brings, on crossings that chose nothing."""
    demand, need = bench.demand, site.requirement.pd
    tell("The changes, on fresh crossings", 0, 1)
    fresh = [bench.pd(each, "cure fresh", _FRESH_POINTS) for each in (site, *(change.site for change in way))]
    words = [verdicts(np.clip(pd - half, 0, 1), np.clip(pd + half, 0, 1), need) for pd, half in fresh]
    length = demand.metres.reshape(len(demand.classes), -1)

    weak, unsure = (
        [((each == word).reshape(length.shape) * length).sum(axis=1) for each in words] for word in ("weak", "undecided")
    )
    row = int(np.argmax(np.round(weak[0], 3)))  # the headline's class: most metres weak
    fence = [float(((each == "weak").reshape(length.shape).any(axis=0) * length[0]).sum()) for each in words]
    most = [int(np.argmax(np.round(a - b, 3))) for a, b in zip(weak, weak[1:])]
    steps = tuple(
        RemedyStep(
            words=change.words,
            kind=change.kind,
            cost=change.cost if kit.priced else None,
            weak_m=(float(weak[k][row]), float(weak[k + 1][row])),
            fence_m=(fence[k], fence[k + 1]),
            most_in=demand.classes[most[k]].name,
            most_m=(float(weak[k][most[k]]), float(weak[k + 1][most[k]])),
        )
        for k, change in enumerate(way)
    )
    cells = [int(np.nanargmin(pd)) for pd, _ in fresh]
    cell = cells[0]

    def at(k: int, where: int) -> tuple[float, float, float]:
        pd, half = (float(each[where]) for each in fresh[k])
        return pd, max(pd - half, 0.0), min(pd + half, 1.0)

    return Remedy(
        words="; then ".join(step.words for step in steps),
        kind=steps[0].kind,
        mends=bool(np.all((words[-1] == "meets") | ~demand.active)),
        cost=sum(change.cost for change in way) if kit.priced else None,
        place=demand.codes[cell % len(demand.codes)],
        weather=demand.classes[cell // len(demand.codes)].name,
        before=at(0, cell),
        at_place=at(-1, cell),
        after=at(-1, cells[-1]),
        worst=demand.classes[row].name,
        weak_m=(float(weak[0][row]), float(weak[-1][row])),
        undecided_m=(float(unsure[0][row]), float(unsure[-1][row])),
        fence_m=(fence[0], fence[-1]),
        tried=bench.tried,
        assumed=kit.assumed,
        steps=steps,
        segment=cell % len(demand.codes),
        site=way[-1].site,
        cells=RemedyCells(
            tuple(c.name for c in demand.classes), *(np.array(each).reshape(len(fresh), *length.shape) for each in zip(*fresh))
        ),
    )
