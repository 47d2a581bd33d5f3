"""A re-test: a short list of walks that would notice a change, and whether logs of several dates have moved.

    import fencecast as fc
    found = fc.walk_again("yard-walks/plan.json", ["2026.csv", "2027.csv"], changed=["camera W"])
    found.moved and found.moved.alarm

The last one, two and three logs are held together against all earlier ones, each with a posterior of its own under the same
prior: z = (m2 - m1) / sqrt(s1^2 + s2^2 + p^2) of ln N50, positive where cameras see worse; p: what people who walked on one side
only change. The largest is an alarm above 2.5, a limit for one of twenty sets of eight re-tests without a change (a single test
would take 1.65). Both sides allow for places that differ, though they walk the same ones: alarms are rarer than that.
Tests: tests/prove/fit/test_again.py.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from os import PathLike

import numpy as np

from fencecast.errors import UsageError, did_you_mean, name_list
from fencecast.estimate.options import Progress
from fencecast.prove.fit.crossings import Crossings, Simulated
from fencecast.prove.fit.earlier import wide_prior
from fencecast.prove.fit.grid import Array, Grid, Prior
from fencecast.prove.fit.groups import Group, effective_walkers, group_walks, people_apart, walker_shares
from fencecast.prove.fit.information import groups_of_kinds, information, kinds_to_walk
from fencecast.prove.fit.likelihood import place_likelihoods, place_names, seeing
from fencecast.prove.fit.posterior import Posterior, posterior
from fencecast.prove.fit.walkfit import Question, ask
from fencecast.prove.log.walked import Walker, WalkLog
from fencecast.prove.score.delay import Middle, score_delay
from fencecast.prove.walks.planfile import Kind, WalkPlan
from fencecast.site import Site

LIMIT = 2.5
LAST = 3  # logs that are held together against earlier ones, at most
PLACES, REPEATS = 3, 2
RISES = (0.10, 0.20, 0.35, 0.65)  # of N50, for which the chance is given that the short list sees them


@dataclass(frozen=True)
class AgainWalk:
    """Walks to make once more: how often, and why ("sees change", "weak", or what was changed)."""

    kind: str
    place: str
    gait: str
    direction: str
    times: int
    why: str


@dataclass(frozen=True)
class Dated:
    """One log by itself: N50 with 95 % ends, delay (None without times), alarms outside walks per camera and hour."""

    file: str
    date: str
    walks: int
    median: float
    low: float
    high: float
    mean_ln: float
    sd_ln: float
    delay: Middle | None
    outside_per_hour: dict[str, float]


@dataclass(frozen=True)
class Moved:
    """z of the last one, two, three logs against all earlier ones; largest, lowest: the ends of them.

    change: of N50 as a share, with the last `last` logs, ends: its 95 %; where z is largest or, unless that is an alarm, furthest
    from 0. people: sd of ln N50 that each z allows for other people, 0 where the same walked in the same shares.
    """

    z: tuple[float, ...]
    largest: float
    lowest: float
    last: int
    change: float
    ends: tuple[float, float]
    people: tuple[float, ...] = ()

    @property
    def alarm(self) -> bool:
        """N50 has risen."""
        return self.largest > LIMIT

    @property
    def better(self) -> bool:
        """N50 has fallen: cameras see better than before. No alarm, but no agreement either."""
        return self.lowest < -LIMIT


@dataclass(frozen=True, eq=False)
class WalkAgain:
    """The short list; by date; what has moved (None with one log); (rise of N50, chance that the list sees it at once)."""

    question: Question
    walks: tuple[AgainWalk, ...]
    dated: tuple[Dated, ...]
    moved: Moved | None
    median: float
    chances: tuple[tuple[float, float], ...]
    changed: tuple[str, ...]

    @property
    def total(self) -> int:
        """Walks of the short list."""
        return sum(walk.times for walk in self.walks)


def walk_again(
    plan: str | PathLike[str] | WalkPlan,
    logs: str | PathLike[str] | Sequence[str | PathLike[str] | WalkLog],
    changed: Sequence[str] = (),
    walkers: str | PathLike[str] | Mapping[str, Walker] | None = None,
    site: str | PathLike[str] | Site | None = None,
    threads: int | None = None,
    progress: Progress | None = None,
) -> WalkAgain:
    """The short list of a re-test and, with logs of several dates, whether N50 has moved.

    changed: what was changed since: `camera MARK`, `place NAME`, `software`. walkers None: statures as the site has them.
    UsageError for anything else that was changed; errors of plan, logs and walkers as `walk_fit`.
    """
    question = ask(plan, logs, walkers, site)
    kinds = kinds_to_walk(question.plan)
    check_changed(question.plan, changed)
    per_log = [group_walks(question.plan, [log], question.walkers) for log in in_order(question.logs)]
    flat = [group for groups in per_log for group in groups]
    made = [
        Simulated(question.site, groups, question.plan.marks, question.plan.from_fence, threads=threads, progress=progress)
        for groups in (flat, groups_of_kinds(question.plan, kinds))
    ]
    return judge_again(question, per_log, made[0], kinds, made[1], changed)


def in_order(logs: Sequence[WalkLog]) -> tuple[WalkLog, ...]:
    """Logs by the moment of their first walk."""
    return tuple(sorted(logs, key=lambda log: (min(walk.crossed for walk in log.walks), log.sha256)))


def check_changed(plan: WalkPlan, changed: Sequence[str]) -> None:
    """UsageError for a change that is none of those known."""
    for text in changed:
        what, _, name = text.partition(" ")
        if text == "software" or (what == "camera" and name in plan.marks):
            continue
        places = [place.place for place in plan.places]
        if what == "place" and name in places:
            continue
        known = [*(f"camera {mark}" for mark in plan.marks), *(f"place {place}" for place in places), "software"]
        raise UsageError(f'--changed "{text}" is not known{did_you_mean(text, known)}; allowed: {name_list(known)}')


class _Part:
    """Some of the groups of other crossings, numbered anew."""

    def __init__(self, whole: Crossings, first: int):
        self.whole, self.first = whole, first

    def log_likelihood(self, group, seen, cycles_50, correlation, chance_alarm):  # type: ignore[no-untyped-def]
        return self.whole.log_likelihood(self.first + group, seen, cycles_50, correlation, chance_alarm)

    def camera_pd(self, group: int, cycles_50: Array) -> Array:
        return self.whole.camera_pd(self.first + group, cycles_50)

    def pattern_table(self, group: int, cameras: Sequence[int], cycles_50: float, correlation: float) -> Array:
        return self.whole.pattern_table(self.first + group, cameras, cycles_50, correlation)

    def at_contrast(self, factor: float) -> _Part:
        return _Part(self.whole.at_contrast(factor), self.first)


def judge_again(
    question: Question,
    per_log: Sequence[Sequence[Group]],
    crossings: Crossings,
    kinds: Sequence[Kind],
    of_kinds: Crossings,
    changed: Sequence[str] = (),
) -> WalkAgain:
    """`walk_again` on crossings that are there already: of the groups of all logs in order, and of the kinds of the plan."""
    prior = wide_prior(question)
    grid = Grid.about(prior.median)
    places = tuple(sorted({name for groups in per_log for name in place_names(groups)}))
    likelihoods = []
    for k, groups in enumerate(per_log):
        found = place_likelihoods(groups, [_Part(crossings, sum(map(len, per_log[:k])))], grid)
        whole = np.zeros((len(places), *found.shape[1:]))
        whole[[places.index(name) for name in place_names(groups)]] = found
        likelihoods.append(whole)

    def of(logs: slice) -> Posterior:
        """Posterior of some logs together; places that they have not are left out."""
        total = np.sum(likelihoods[logs], axis=0)
        walked = sorted({name for groups in per_log[logs] for name in place_names(groups)})
        return posterior(walked, total[[places.index(name) for name in walked]], prior, grid)

    logs = in_order(question.logs)
    dated = tuple(_dated(question.plan, log, of(slice(k, k + 1)).cycles_50()) for k, log in enumerate(logs))
    known = of(slice(None))
    median, r = known.cycles_50().median, known.correlation().mean
    walks, said = _short_list(question.plan, kinds, of_kinds, median, r, changed)
    chances = _chances(known.cycles_50().sd_ln, said, prior, effective_walkers(walker_shares(logs)))
    return WalkAgain(question, walks, dated, _moved(of, logs, prior.walker_spread), median, chances, tuple(changed))


def _dated(plan: WalkPlan, log: WalkLog, known) -> Dated:  # type: ignore[no-untyped-def]
    delay = score_delay(plan, log)
    hours = log.watch_h
    counts = {mark: sum(each.mark == mark for each in log.outside) for mark in plan.marks}
    outside = {mark: count / hours for mark, count in counts.items()} if hours > 0.0 else {}
    return Dated(
        log.file, min(walk.crossed for walk in log.counted).date().isoformat(), len(log.counted), known.median, known.low,
        known.high, known.mean_ln, known.sd_ln, None if delay is None else delay.delay_s, outside,
    )  # fmt: skip


def _moved(of, logs: Sequence[WalkLog], walker_spread: float) -> Moved | None:  # type: ignore[no-untyped-def]
    count = len(logs)
    if count < 2:
        return None
    found, people = [], []
    for last in range(1, min(LAST, count - 1) + 1):
        before, after = of(slice(0, count - last)).cycles_50(), of(slice(count - last, None)).cycles_50()
        apart = people_apart(walker_shares(logs[: count - last]), walker_shares(logs[count - last :]))
        people.append(walker_spread * math.sqrt(apart))
        spread = math.hypot(before.sd_ln, after.sd_ln, people[-1])
        found.append(((after.mean_ln - before.mean_ln) / spread, after.mean_ln - before.mean_ln, spread))
    risen = max(each[0] for each in found) > LIMIT
    at = max(range(len(found)), key=lambda k: found[k][0] if risen else abs(found[k][0]))
    _, change, spread = found[at]
    ends = (math.expm1(change - 1.96 * spread), math.expm1(change + 1.96 * spread))
    every = tuple(each[0] for each in found)
    return Moved(every, max(every), min(every), at + 1, math.expm1(change), ends, tuple(people))


def _short_list(
    plan: WalkPlan, kinds: Sequence[Kind], crossings: Crossings, median: float, r: float, changed: Sequence[str]
) -> tuple[tuple[AgainWalk, ...], float]:
    """The walks, and the information on ln N50 of those that are there to see a change."""
    each = np.array([information(crossings, k, median, r)[0, 0] for k in range(len(kinds))])
    gaits = sorted({kind.gait for kind in kinds}, key=lambda gait: (-sum(kind.gait == gait for kind in kinds), gait))[:2]
    by_place: dict[str, list[int]] = {}
    for k, kind in enumerate(kinds):
        if kind.gait in gaits:
            by_place.setdefault(kind.place, []).append(k)
    best = sorted(by_place, key=lambda name: (-float(np.sum(each[by_place[name]])), name))[:PLACES]
    found = [_walks(kinds[k], "sees change") for name in best for k in by_place[name]]
    said = REPEATS * float(sum(each[k] for name in best for k in by_place[name]))
    for place in (place.place for place in plan.places):
        weak = [k for k in by_place.get(place, []) if _site_pd(crossings, k, median, r) < plan.requirement.pd]
        if weak and place not in best:
            lowest = min(weak, key=lambda k: (_site_pd(crossings, k, median, r), k))
            found.append(_walks(kinds[lowest], "weak"))
    for text in changed:
        what, _, name = text.partition(" ")
        if what == "camera":
            camera = plan.marks.index(name)
            own = [information(crossings, k, median, r, camera)[0, 0] for k in range(len(kinds))]
            most = sorted(range(len(kinds)), key=lambda k: (-own[k], k))[:2]
            found += [_walks(kinds[k], text) for k in most]
        elif what == "place":
            found += [_walks(kinds[k], text) for k in by_place.get(name, [])]
    return tuple(found), said


def _walks(kind: Kind, why: str) -> AgainWalk:
    return AgainWalk(kind.kind, kind.place, kind.gait, kind.direction, REPEATS, why)


def _site_pd(crossings: Crossings, k: int, median: float, r: float) -> float:
    cameras = seeing(crossings, k, median)
    return 1.0 - float(crossings.pattern_table(k, cameras, median, r)[0]) if cameras else 0.0


def _chances(sd_before: float, said: float, prior: Prior, walkers: float) -> tuple[tuple[float, float], ...]:
    """(rise of N50, chance that the walks of the list alone exceed the limit at once), by the normal approximation.

    The new posterior's mean moves by w times the rise, w = 1 - s2^2 / prior^2, because the same prior pulls it back. Other people
    walk it than walked before, as many (walkers: how many equally often): the same people see more.
    """
    if said <= 0.0:
        return tuple((rise, 0.0) for rise in RISES)
    people = prior.walker_spread * math.sqrt(2.0 / walkers)
    after = 1.0 / math.sqrt(said + prior.spread**-2)
    pulled = 1.0 - (after / prior.spread) ** 2
    noise = pulled * math.hypot(1.0 / math.sqrt(said), sd_before, people)
    limit = LIMIT * math.hypot(sd_before, after, people)
    return tuple(
        (rise, 0.5 * math.erfc((limit - pulled * math.log1p(rise)) / noise / math.sqrt(2.0))) for rise in RISES
    )  # fmt: skip
