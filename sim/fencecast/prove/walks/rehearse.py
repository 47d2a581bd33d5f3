"""A log that nobody walked: what an evening might bring back if N50 and the correlation were these.

It is for rehearsing `walk score` and `walk fit`; every row says that it is simulated, and both say so again. Cameras of a walk
answer from its pattern table (`patterns.pattern_table`), places differ by a shift of ln N50 each, later rungs of a claim are
walked only after a miss.

Tests: tests/prove/walks/test_rehearse.py.
"""

from __future__ import annotations

import csv
import datetime
import io
import math
from collections.abc import Sequence
from dataclasses import dataclass
from os import PathLike

import numpy as np

from fencecast.errors import UsageError
from fencecast.kernels.decided import MOST_CORRELATION
from fencecast.prove.walks.kinds import Crossed, simulate_walks
from fencecast.prove.walks.patterns import pattern_table
from fencecast.prove.walks.planfile import Kind, WalkPlan, read_plan
from fencecast.prove.walks.planned import planned_site
from fencecast.prove.walks.rehearsed import REHEARSAL
from fencecast.sampling.variables import key64
from fencecast.site import Site
from fencecast.spreadsheet import cell_of

# Between two walks: back to the fence, at ease, the next start (judgement, no source).
_BETWEEN_S = 70.0
# Crossings of one kind; what is drawn is one of its patterns.
_CROSSINGS = 256


@dataclass(frozen=True)
class Rehearsal:
    """Texts of log.csv and walkers.csv, how many walks the log holds, and its N50 [cycles]."""

    log: str
    walkers: str
    walks: int
    cycles_50: float


def walk_rehearse(
    plan: str | PathLike | WalkPlan,
    cycles_50: float | None = None,
    correlation: float = 0.5,
    place_spread: float = 0.0,
    seed: int = 1,
    site: str | PathLike | None = None,
) -> Rehearsal:
    """A log of a plan that nobody walked, as it might come back if N50 [cycles], correlation and spread of ln N50 were these.

    cycles_50: the plan's when it is left out. site: a site file beside which the plan's weather record lies.
    UsageError for numbers out of range; InputError for a file that is no plan.
    """
    whole = plan if isinstance(plan, WalkPlan) else read_plan(plan)
    median = whole.prior_median if cycles_50 is None else cycles_50
    for name, value, least, most, instead in (
        ("cycles-50", median, 0.05, 100.0, 2.6),
        ("correlation", correlation, 0.0, MOST_CORRELATION, 0.3),
        ("place-spread", place_spread, 0.0, 2.0, 0.15),
    ):
        if not least <= value <= most:
            raise UsageError(f"{name} = {value:g} is not allowed: {least:g} to {most:g}; type for instance --{name} {instead:g}")
    date = datetime.datetime.fromisoformat(whole.created).date()
    own = planned_site(whole, None if isinstance(plan, WalkPlan) else plan, site)
    log = rehearse(whole, site=own, cycles_50=median, correlation=correlation, place_spread=place_spread, seed=seed, date=date)
    return Rehearsal(log, rehearsed_walkers(), log.count(REHEARSAL), median)


def rehearse(
    plan: WalkPlan,
    *,
    cycles_50: float,
    correlation: float,
    place_spread: float = 0.0,
    seed: int = 1,
    walkers: Sequence[tuple[str, float]] = (("A", 1.75), ("B", 1.75)),
    date: datetime.date,
    site: Site | None = None,
    threads: int | None = None,
) -> str:
    """Text of a log.csv of the plan's walks, as they might have gone with that N50 [cycles] and correlation (0 to 0.9).

    place_spread: standard deviation of ln N50 between places. walkers: names and statures [m], who change over once. The same
    arguments give the same text. ValueError for an N50 or a correlation out of range.
    """
    draw = np.random.default_rng(key64(f"rehearsal {seed}"))
    site = planned_site(plan) if site is None else site
    chance = _chances(plan, site, cycles_50, correlation, place_spread, draw, walkers, seed, threads)
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(["trial", "place", "gait", "direction", "walker", "date", "crossed", *plan.marks, "void", "note"])
    kinds = {kind.kind: kind for kind in plan.kinds}
    clock = datetime.datetime.combine(date, datetime.time(21, 0))
    walked: dict[str, int] = {}
    missed: dict[str, int] = {}
    stops = {claim.claim: claim.stops for claim in plan.claims}
    half = len(plan.trials) / 2
    for at, trial in enumerate(plan.trials):
        if trial.claim and _passed(stops[trial.claim], walked.get(trial.claim, 0), missed.get(trial.claim, 0)):
            continue
        kind, who = kinds[trial.kind], 0 if at < half else -1
        cameras, table = chance[trial.kind, walkers[who][0]]
        pattern = int(draw.choice(len(table), p=table))
        heard = {camera for bit, camera in enumerate(cameras) if pattern >> bit & 1}
        clock += datetime.timedelta(seconds=round(2.0 * kind.path_s + _BETWEEN_S))
        cells = ["yes" if camera in heard else "no" for camera in range(len(plan.marks))]
        when = [clock.date().isoformat(), clock.time().isoformat()]
        writer.writerow(
            [trial.trial, cell_of(kind.place), kind.gait, kind.direction, walkers[who][0], *when, *cells, "", REHEARSAL]
        )
        if trial.claim:
            walked[trial.claim] = walked.get(trial.claim, 0) + 1
            missed[trial.claim] = missed.get(trial.claim, 0) + (not heard)
    return out.getvalue()


def rehearsed_walkers(walkers: Sequence[tuple[str, float]] = (("A", 1.75), ("B", 1.75))) -> str:
    """Text of the walkers.csv that goes with it."""
    return "walker,stature_m,clo,note\r\n" + "".join(f"{name},{stature:g},,{REHEARSAL}\r\n" for name, stature in walkers)


def _passed(stops: tuple[int, ...], walked: int, missed: int) -> bool:
    """Whether a claim was shown at or before so many walks, or has more misses than it may have."""
    return missed >= len(stops) or walked >= stops[missed]


def _chances(
    plan: WalkPlan, site: Site, cycles_50: float, correlation: float, place_spread: float, draw, walkers, seed: int, threads
) -> dict[tuple[str, str], tuple[list[int], np.ndarray]]:
    """Cameras (indices) and the probability of each of their patterns, by kind and walker."""
    places = {place.place: place for place in plan.places}
    shift = {place.place: place_spread * draw.standard_normal() for place in plan.places}
    asked: list[tuple[Kind, str, float]] = [
        (kind, name, stature) for kind in plan.kinds for name, stature in dict(walkers).items()
    ]
    crossed = [
        Crossed(places[kind.place].section, places[kind.place].chainage_m, kind.gait, kind.direction, stature, None)
        for kind, _, stature in asked
    ]
    steps = simulate_walks(
        site, crossed, plan.weather, crossings=_CROSSINGS, seed=seed, from_fence=plan.from_fence, threads=threads
    )  # fmt: skip
    found = {}
    for row, (kind, name, _) in enumerate(asked):
        cameras = [camera for camera, mark in enumerate(plan.marks) if mark in kind.pd_camera]
        # A control that nothing hears has no camera: it stays silent.
        table = (
            np.ones(1)
            if not cameras
            else pattern_table(steps, row, cameras, cycles_50 * math.exp(shift[kind.place]), correlation)
        )
        found[kind.kind, name] = (cameras, table / table.sum())
    return found
