"""A proposal of cameras: candidates simulated once, a search over them, and the chosen ones run again on fresh crossings."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from os import PathLike

import numpy as np

from fencecast.decide.layout import changed, free_marks, with_cameras
from fencecast.decide.place.bill import Item, bill_of
from fencecast.decide.place.candidates import MOST, NEW, Candidate, existing
from fencecast.decide.place.candidates import candidates as cameras_to_try
from fencecast.decide.place.ceiling import ceiling_of, check_ceiling
from fencecast.decide.place.demand import Demand, demand_of, target_of
from fencecast.decide.place.freefirst import with_free_changes
from fencecast.decide.place.joint import POINTS, Joint
from fencecast.decide.place.kit import Kit, check_prices, kit_of
from fencecast.decide.place.reach import counted, reaches
from fencecast.decide.place.rounds import beyond, bounds, caps, checked_again, found, with_last
from fencecast.decide.place.search import Task, make_task, reachable
from fencecast.decide.place.thrift import Thrift, thrifty
from fencecast.decide.place.views import targets_of
from fencecast.errors import UsageError
from fencecast.estimate.options import DEFAULT_PRECISION, Progress, RunOptions
from fencecast.estimate.placecodes import standing_text
from fencecast.estimate.simulate import REPLICATES
from fencecast.job import chosen_hours, chosen_weather, run
from fencecast.meteorology.load import classes_of
from fencecast.meteorology.year import Year
from fencecast.site import Site, as_site


@dataclass(frozen=True)
class Step:
    """One set on the way from the site as it is to the proposal.

    cameras in all, of which new and changed; weakest: lowest Pd of any counted cell on the crossings of the search; fresh, low,
    high: lowest Pd on fresh crossings, with its interval; place, weather: where that is; metres by verdict over all classes.
    """

    cost: float
    cameras: int
    new: int
    changed: int
    weakest: float
    fresh: float
    low: float
    high: float
    place: str
    weather: str
    meets_m: float
    undecided_m: float
    weak_m: float


@dataclass(frozen=True)
class Row:
    """One row of the front as a site of its own: the site, what was changed, its bill."""

    site: Site
    changes: tuple[str, ...]
    bill: tuple[Item, ...]


@dataclass(frozen=True)
class Proposal:
    """What `place` found. bound: no set of the candidates that does as well costs less (until meets), or None; worth, most: what
    the set is worth of 1, and what no set within the limits exceeds (cameras, budget), or None. results: the proposal run again.
    out_of_reach: metres by class that no set reaches, or none worth its cost; thrift: what was left out
    again (until meets); rows: the sites and bills of the steps; ceiling, alarms: alarms a night that were allowed, and those that
    the set raises at most by the sum over its cameras, None without a ceiling.
    """

    site: Site
    steps: tuple[Step, ...]
    changes: tuple[str, ...]
    kit: Kit
    goal: str
    target: float
    candidates: int
    crossings: int
    bytes: int
    meets: bool
    bound: float | None
    worth: float
    most: float | None
    out_of_reach: tuple[tuple[str, float], ...]
    left_out: tuple[str, ...]
    results: object
    thrift: Thrift | None = None
    rows: tuple[Row, ...] = ()
    ceiling: float | None = None
    alarms: float | None = None


def place(
    site: Site | str | PathLike[str],
    cameras: int | None = None,
    budget: float | None = None,
    until_met: bool = False,
    goal: str = "meets",
    keep: bool = False,
    from_scratch: bool = False,
    ceiling: float | None = None,
    candidates: int = MOST,
    crossings: int = POINTS * REPLICATES,
    seed: int | None = None,
    precision: float = DEFAULT_PRECISION,
    weather: Sequence[str] = (),
    threads: int | None = None,
    progress: Progress | None = None,
    year: Year | None = None,
) -> Proposal:
    """Propose cameras for a site, or additions and re-aimings to those that it has.

    cameras: at most so many new ones; budget: at most so much money; until_met: as few as it takes (also
    when neither limit is given; a limit given as well still holds). goal: "meets" counts how near every cell is to the
    requirement, "mean" the mean Pd over fence and year. keep: existing cameras stay as they are; from_scratch: they are left out.
    ceiling: nuisance alarms a night, mean over the year; the requirement's when None. A set is admitted while the sum
    over its cameras, each alone, is at most that (`place.ceiling`).
    candidates: at most so many cameras are simulated to choose from; crossings: of each segment in each class in the search;
    year: the hours of the site's weather file when they are read already; the rest as in `run`. Returns a Proposal, whose results
    are those of `run` on the proposed site, on crossings that the search never saw.
    Rules that do not hear a camera which sees are mended first, where that closes metres: it costs nothing.
    Raises UsageError when limits, kit or mountings leave nothing to propose.
    """
    check_limits(cameras, budget, keep, from_scratch, candidates, crossings)
    site = as_site(site)
    ceiling = check_ceiling(site, ceiling)
    check_prices(site)
    options = RunOptions.of(site, seed, precision, threads=threads, progress=progress)
    seed, threads, points = options.seed, options.threads, crossings // REPLICATES
    year = chosen_hours(site, year=year)
    classes = counted(chosen_weather(site, weather, classes_of(site, year)))
    until = until_met or (cameras is None and budget is None)
    site, free = with_free_changes(site, classes, seed, threads, from_scratch)
    kit, demand, tell = kit_of(site), demand_of(site, classes, seed, threads, from_scratch), progress or (lambda *_: None)
    if budget is not None and not kit.priced:
        raise UsageError(f"--budget {budget:g} needs prices: give every sensor and lens of the kit a price, or use --cameras")
    target = target_of(site.requirement, precision)
    targets = targets_of(site)
    if not len(targets.points):
        raise UsageError("no rule watches any section, so no camera can help; add a [[rule]]")
    tell("Where each lens meets the requirement", 0, 1)
    heights = tuple(float(camera.height_m) for camera in site.camera)
    reach, left_out = reaches(site, kit, site.requirement, classes, seed=seed, threads=threads, heights=heights)
    own = [] if from_scratch else existing(site)
    need = np.ones(len(targets.points))
    if own:
        now = demand.simulate(own, "place", points).pd(range(len(own))).reshape(len(classes), -1)[:, targets.segments]
        need = np.clip((target - now) / target, 0.0, 1.0).max(axis=0)
    chosen = cameras_to_try(site, kit, reach, targets, need, candidates, new=True, change=not (keep or from_scratch))
    chosen = [c for c in chosen if not from_scratch or c.group == NEW]
    if not any(c.kind != "as it is" for c in chosen):
        raise UsageError("no camera of the kit on any mounting holds any of the fence; move a mounting, or add a lens")
    joint = demand.simulate(chosen, "place", points, partial(tell, f"Simulating {len(chosen)} candidate cameras"))
    base = tuple(range(len(own)))
    best = reachable(joint, chosen, base)
    limits, lengths = caps(goal, until, target, best, demand)
    kept = None if ceiling is None else ceiling_of(site, chosen, base, classes, options, year, ceiling)
    task = make_task(joint, chosen, lengths, limits, base, budget, cameras, kept)
    if task.full <= 0.0:
        raise UsageError(
            "no set of these candidates brings any metre to the requirement; give the kit a longer lens or nearer mountings"
        )
    tell("Searching", 0, 1)
    enough = task.full if until else None
    per_cost = budget is not None or until
    solution, task = found(task, enough, per_cost)
    solution, task, check, used = checked_again(task, solution, demand, until, best, tell)
    thrift = None
    if until:
        tell("Leaving out what is not needed", 0, 1)
        thrift = thrifty(task, solution.last.subset, demand, scratch=bool(base))
        solution, check, used = with_last(task, solution, thrift.subset, demand, check, used)
    bound, most = bounds(task, solution, until, kit)
    way = solution.steps  # of equal costs the last, which is worth more; the site as it is stays
    way = [s for k, s in enumerate(way) if k in (0, len(way) - 1) or way[k + 1].cost > s.cost + 1e-9]
    steps = tuple(_step(step, task, joint, check, used, demand) for step in way)
    proposed, words = _proposed(site, [chosen[c] for c in solution.last.subset], from_scratch)
    results = run(proposed, seed=seed, precision=precision, weather=weather, threads=threads, progress=progress, year=year)
    return Proposal(
        site=proposed,
        steps=steps,
        changes=(*free, *words),
        kit=kit,
        goal="until met" if until else goal,
        target=target,
        candidates=len(chosen),
        crossings=joint.crossings,
        bytes=joint.bytes,
        meets=bool(np.all(results["verdict"].values == "meets")),
        bound=bound,
        worth=solution.last.worth / task.full,
        most=None if most is None else min(most / task.full, 1.0),
        out_of_reach=beyond(task, demand) if until else (),
        thrift=thrift,
        rows=tuple(_row(site, kit, [chosen[c] for c in step.subset], from_scratch, free) for step in way),
        left_out=left_out,
        ceiling=ceiling,
        alarms=None if kept is None else kept.at_most(solution.last.subset),
        results=results,
    )


def check_limits(
    cameras: int | None, budget: float | None, keep: bool, from_scratch: bool, candidates: int, crossings: int
) -> None:
    """Refuse what a search cannot do."""

    def whole(name: str, value: int | None, low: int, high: int, example: int) -> None:
        if value is not None and not low <= value <= high:
            raise UsageError(f"{name} {value} is not allowed: a whole number from {low} to {high}; type for instance {example}")

    whole("--cameras", cameras, 1, 1000, 4)
    whole("--candidates", candidates, 2, 5000, MOST)
    whole("--crossings", crossings, 2 * REPLICATES, 2**16, POINTS * REPLICATES)
    if crossings % REPLICATES:
        nearest = crossings // REPLICATES * REPLICATES
        raise UsageError(f"--crossings {crossings} is not allowed: a multiple of {REPLICATES}; type for instance {nearest}")
    if budget is not None and not 0.0 < budget < math.inf:
        raise UsageError(f"--budget {budget:g} is not allowed: an amount above 0; type for instance 5000")
    if keep and from_scratch:
        raise UsageError("--keep and --from-scratch do not go together: existing cameras stay as they are, or are left out")


def _step(step, task: Task, joint: Joint, check: Joint, used: list[int], demand: Demand) -> Step:
    pd = joint.pd(step.subset)
    _, _, (fresh, low, high, cell), metres = demand.judged(check, [used.index(c) for c in step.subset])
    kinds = [task.candidates[c].kind for c in step.subset]
    return Step(
        cost=step.cost,
        cameras=len(kinds),
        new=kinds.count("new"),
        changed=kinds.count("turned") + kinds.count("lens"),
        weakest=float(np.nanmin(pd)),
        fresh=fresh,
        low=low,
        high=high,
        place=demand.codes[cell % len(demand.codes)],
        weather=demand.classes[cell // len(demand.codes)].name,
        meets_m=metres[0],
        undecided_m=metres[1],
        weak_m=metres[2],
    )


def _row(site: Site, kit: Kit, chosen: list[Candidate], from_scratch: bool, free: tuple[str, ...]) -> Row:
    """A set on the way as a site; one without any camera stays without. free: changes of rules, which every row has."""
    proposed, words = _proposed(site, chosen, from_scratch)
    return Row(proposed, (*free, *words), bill_of(site, kit, chosen))


def _proposed(site: Site, chosen: list[Candidate], from_scratch: bool) -> tuple[Site, tuple[str, ...]]:
    """The site with the chosen cameras, and a plain sentence for each change."""
    kept = sorted((c for c in chosen if c.group != NEW), key=lambda c: c.group)
    new = [c for c in chosen if c.group == NEW]
    words = [change_words(site, c, from_scratch) for c in kept if c.kind != "as it is"]
    marks = free_marks(site, len(new))
    added = [replace(c, camera=changed(c.camera, mark=mark)) for c, mark in zip(new, marks)]
    words += [change_words(site, c, from_scratch) for c in added]
    title = f"{site.title[:180]} (proposal)"
    return with_cameras(site, [c.camera for c in (*kept, *added)], title), tuple(words)


def change_words(site: Site, candidate: Candidate, from_scratch: bool = False) -> str:
    """`turn C6 from bearing 181, ...`, `lens wide for long on C6, ...`, `new camera P1 at D 18 m, 1 m inside the fence, ...`."""
    camera = candidate.camera
    aim = f"bearing {camera.bearing_deg:.0f}, {camera.depression_deg:.0f} degrees down"
    if candidate.group == NEW:
        where = standing_text(site, camera.position_m, not from_scratch)
        return f"new camera {camera.mark} at {where}, {camera.height_m:g} m up, lens {camera.lens}, {aim}"
    before = site.camera[candidate.group]
    was = f"from bearing {before.bearing_deg:.0f}, {before.depression_deg:.0f} degrees down"
    if candidate.kind == "height":
        return (
            f"mount {camera.mark} at {camera.height_m:g} m instead of {before.height_m:g} m, "
            f"{camera.depression_deg:.0f} degrees down instead of {before.depression_deg:.0f}"
        )
    if candidate.kind == "lens":
        return f"lens {camera.lens} for {before.lens} on {camera.mark}, turned {was} to {aim}"
    return f"turn {camera.mark} {was} to {aim}"
