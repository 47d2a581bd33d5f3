"""How many walks go where in the time there is: calibration first, then claims of weak places, lowest first, then the pool.

A pooled claim has the same number of walks at every place of it, so that it is about the mean Pd over those places: its rungs are
those of the ladder rounded up to that, which only makes it stricter. Walks that calibrate are walked anyway: the first rung of
their claim is all of them.

Tests: tests/prove/walks/test_allot.py.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from fencecast.errors import UsageError
from fencecast.prove.walks import chance
from fencecast.prove.walks.order import Want, in_order, minutes_of

REPEATS = 3  # of every kind, where the time allows
MOST_REPEATS = 12
CONTROLS = 10  # one extra walk in so many goes against the rule's direction


@dataclass(frozen=True)
class Task:
    """What is asked for. calibration, weak, sample: names of places, best or lowest first.

    misses: of the last rung. minutes: the budget; walks: instead of it, when given. errs: what the confidence leaves. pd: mean
    over gaits as predicted, by place; walks that calibrate make no claim where it is below the requirement on average.
    """

    goal: str
    gaits: tuple[str, ...]
    calibration: tuple[str, ...]
    weak: tuple[str, ...]
    sample: tuple[str, ...]
    requirement: float
    errs: float
    misses: int
    minutes: float
    walks: int | None
    together: bool
    direction: str = "in"
    controls: bool = True
    pd: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Ground:
    """What the order's time needs: seconds of a walk by kind, (x, y) [m] of the places, and the seed of the order."""

    seconds: Mapping[str, float]
    where: Mapping[str, tuple[float, float]]
    seed: int


@dataclass(frozen=True)
class Draft:
    """A claim: its places, its rungs, the confidence of it by itself."""

    of: str
    places: tuple[str, ...]
    stops: tuple[int, ...]
    confidence: float

    @property
    def base(self) -> int:
        """Walks of its first rung."""
        return self.stops[0]


@dataclass(frozen=True)
class Allotment:
    """Walks and claims (C1 first), minutes without the walks that follow a miss and with all of them; places without a claim."""

    wants: tuple[Want, ...]
    claims: tuple[Draft, ...]
    minutes: float
    most_minutes: float
    base_places: tuple[str, ...] = ()
    left_out: tuple[str, ...] = field(default=())


def kind_key(place: str, gait: str, direction: str) -> str:
    """A kind of walk before it has its number."""
    return f"{place}\t{gait}\t{direction}"


def allot(task: Task, ground: Ground) -> Allotment:
    """The walks of a test. UsageError when not even one fits, or in a test of acceptance no claim."""
    if not task.together:
        return _allot(task, ground, task.errs)
    stricter = None
    for claims in range(len(task.weak) + 1, 0, -1):
        found = _allot(task, ground, task.errs / claims)
        if len(found.claims) > claims and stricter is not None:
            return stricter  # an error rate shared out over more claims than there are
        if len(found.claims) >= claims:
            return found
        stricter = found
    return found


def _allot(task: Task, ground: Ground, errs: float) -> Allotment:
    base: list[Want] = []
    places: tuple[str, ...] = ()
    if task.goal != "accept":
        places, base = _base(task, ground)
    # Beside calibration a claim of its own comes with its whole ladder, when the pool's walks after a miss fit as well.
    pool = _pool(task, errs, places, sum(want.count for want in base)) if task.goal == "both" else None
    after = _later(task, [pool]) if pool and task.walks is None else []
    claims: list[Draft] = []
    left_out: list[str] = []
    if task.goal != "calibrate":
        for place in task.weak:
            draft = _largest(task, ground, errs, (place,), [*base, *after], claims)
            if draft is None:
                left_out.append(place)
            else:
                claims.append(draft)
    if task.goal == "accept":
        draft = _largest(task, ground, errs, task.sample, base, claims) if task.sample else None
        places = task.sample if draft else ()
        base = _spread(task, places, draft.base) if draft else []
        if not base and not claims and task.walks is None:
            raise UsageError(_too_short(task, ground, errs))
        if not base and task.walks is not None:
            places = (task.sample or task.calibration)[: max(1, task.walks // len(task.gaits))]
    base = _filled(task, ground, errs, places, base, claims)
    pool = _pool(task, errs, places, sum(want.count for want in base)) if task.goal != "calibrate" and base else None
    claims = [*([pool] if pool else []), *claims]
    first = _wants(task, base, claims, pool is not None)
    later = _later(task, claims)
    seconds, where = ground.seconds, ground.where
    minutes = minutes_of(in_order(first, ground.seed), seconds, where)
    most = minutes_of(in_order([*first, *later], ground.seed), seconds, where)
    return Allotment((*first, *later), tuple(claims), minutes, most, tuple(places), tuple(left_out))


def _base(task: Task, ground: Ground) -> tuple[tuple[str, ...], list[Want]]:
    """Calibration: as many places as there are, with as many repeats as there should be, down to what fits."""
    count = len(task.calibration)
    most = MOST_REPEATS if task.goal == "calibrate" and task.walks is None else REPEATS
    tries = [(count, repeats) for repeats in range(most, 0, -1)] + [(fewer, 1) for fewer in range(count - 1, 0, -1)]
    for number, repeats in tries:
        places = task.calibration[:number]
        wants = _spread(task, places, number * len(task.gaits) * repeats)
        if wants and _fits(task, ground, wants, []):
            return places, wants
    places = task.calibration[:1]
    wants = _spread(task, places, 1) if places else []
    if not wants:
        raise UsageError(
            "nothing can be walked that says anything of N50: at no place does a walk as on a card raise an alarm of a camera "
            "that sees it whole; look at the rules' lines (offset_m, direction) and run fencecast check on the site"
        )
    if not _fits(task, ground, wants, []):
        least = minutes_of(in_order(wants, ground.seed), ground.seconds, ground.where)
        raise UsageError(
            f"minutes {task.minutes:g} is too short: set-up and one walk take {least:.0f}; type --minutes {_round_up(least)}"
        )
    return places, wants


def _spread(task: Task, places: Sequence[str], count: int) -> list[Want]:
    """So many walks over gaits and places, as evenly as can be over places, and then over gaits."""
    gaits, number = task.gaits, len(places)
    if not number:
        return []
    every, rest = divmod(count, number * len(gaits))
    counts = {kind_key(place, gait, task.direction): every for place in places for gait in gaits}
    for k in range(rest):
        place, gait = places[k % number], gaits[(k // number + k % number) % len(gaits)]
        counts[kind_key(place, gait, task.direction)] += 1
    return [Want(kind, kind.split("\t")[0], many) for kind, many in counts.items() if many]


def _rungs(task: Task, errs: float, misses: int, places: int) -> tuple[int, ...]:
    """The ladder, each rung rounded up to the same number of walks at each place."""
    return tuple(-(-stop // places) * places for stop in chance.ladder(task.requirement, 1.0 - errs, misses))


def _largest(
    task: Task, ground: Ground, errs: float, places: Sequence[str], base: list[Want], claims: list[Draft]
) -> Draft | None:
    """The claim with the most misses allowed whose first rung fits beside what there is; None when none does.

    Fewer misses than asked for only where claims are all that the test is for.
    """
    for misses in range(task.misses, -1 if task.goal == "accept" else task.misses - 1, -1):
        draft = Draft("place" if len(places) == 1 else "pool", tuple(places), _rungs(task, errs, misses, len(places)), 1.0 - errs)
        if _fits(task, ground, base, [*claims, draft]):
            return draft
    return None


def _pool(task: Task, errs: float, places: Sequence[str], walks: int) -> Draft | None:
    """The claim that the walks of the base make by themselves: the most misses whose first rung they reach."""
    if not _may_pass(task, places):
        return None
    for misses in range(task.misses, -1, -1):
        rungs = _rungs(task, errs, misses, len(places))
        if rungs[0] <= walks:
            # The base is walked whole; a rung that comes later than the ladder's passes no oftener.
            stops = tuple(max(walks, rung) for rung in rungs)
            return Draft("pool" if len(places) > 1 else "place", tuple(places), stops, 1.0 - errs)
    return None


def _may_pass(task: Task, places: Sequence[str]) -> bool:
    """Whether the mean Pd of places is predicted to reach the requirement."""
    return sum(task.pd.get(place, 1.0) for place in places) >= task.requirement * len(places)


def _filled(task: Task, ground: Ground, errs: float, places: Sequence[str], base: list[Want], claims: list[Draft]) -> list[Want]:
    """The base with what is left: all of it when a number of walks was asked for; else more repeats, when with them the whole
    ladder of the pool fits."""
    if not places:
        return base
    walked = sum(draft.base for draft in claims)
    count = sum(want.count for want in base)
    if task.walks is not None:
        return _spread(task, places, max(task.walks - walked, 1 if not claims else 0))
    if task.goal != "both" or not _may_pass(task, places):
        return base
    kinds = len(places) * len(task.gaits)
    first = _rungs(task, errs, task.misses, len(places))[0]
    more = -(-max(first, count) // kinds) * kinds
    pool = _pool(task, errs, places, more) if more > count else None
    larger = _spread(task, places, more)
    return larger if pool and _fits(task, ground, [*larger, *_later(task, [pool])], claims) else base


def _fits(task: Task, ground: Ground, base: list[Want], claims: Sequence[Draft]) -> bool:
    wants = _wants(task, base, claims, False)
    if task.walks is not None:
        return sum(want.count for want in wants if not want.control) <= task.walks
    return minutes_of(in_order(wants, ground.seed), ground.seconds, ground.where) <= task.minutes


def _wants(task: Task, base: list[Want], claims: Sequence[Draft], pooled: bool) -> list[Want]:
    """Walks of the first rungs, numbered as claims are, and controls. pooled: the first claim is made by the base itself."""
    found = [replace(want, claim="C1") for want in base] if pooled else list(base)
    for number, draft in enumerate(claims):
        if not (pooled and number == 0):
            found += [replace(want, claim=f"C{number + 1}") for want in _spread(task, draft.places, draft.base)]
    walks = sum(want.count for want in found)
    if task.controls and walks:
        against = "out" if task.direction == "in" else "in"
        places = list(dict.fromkeys(want.place for want in found))
        for k in range(int(walks / CONTROLS + 0.5)):
            place, gait = places[k % len(places)], task.gaits[(k // len(places) + k) % len(task.gaits)]
            found.append(Want(kind_key(place, gait, against), place, 1, None, 1, True))
    return found


def with_controls(found: Allotment, quiet: Sequence[str], ground: Ground) -> Allotment:
    """The same test with controls of the quiet kinds alone, in as many walks; without any where no kind is quiet."""
    kept = [want for want in found.wants if not want.control or want.kind in quiet]
    for k in range((len(found.wants) - len(kept)) if quiet else 0):
        kind = quiet[k % len(quiet)]
        kept.append(Want(kind, kind.split("\t")[0], 1, None, 1, True))
    if kept == list(found.wants):
        return found
    seconds, where = ground.seconds, ground.where
    first = [want for want in kept if want.rung == 1]
    minutes, most = (minutes_of(in_order(wants, ground.seed), seconds, where) for wants in (first, kept))
    return replace(found, wants=tuple(kept), minutes=minutes, most_minutes=most)


def _later(task: Task, claims: Sequence[Draft]) -> list[Want]:
    """Walks that only follow a miss, rung by rung."""
    found = []
    for number, draft in enumerate(claims):
        for rung in range(1, len(draft.stops)):
            more = draft.stops[rung] - draft.stops[rung - 1]
            found += [replace(want, claim=f"C{number + 1}", rung=rung + 1) for want in _spread(task, draft.places, more)]
    return found


def _too_short(task: Task, ground: Ground, errs: float) -> str:
    """Why no claim fits, and what to type."""
    places = task.sample or task.weak[:1]
    if not places:
        return "no place of this site can be claimed: no rule watches one that a camera sees; run fencecast check on it"
    stops = _rungs(task, errs, 0, len(places))
    wants = _wants(task, [], [Draft("pool", tuple(places), stops, 1.0 - errs)], False)
    least = minutes_of(in_order(wants, ground.seed), ground.seconds, ground.where)
    return (
        f"no claim fits into {task.minutes:g} minutes: the smallest takes {stops[0]} walks without a miss, {least:.0f} minutes; "
        f"type --minutes {_round_up(least)}, or --goal calibrate"
    )


def _round_up(minutes: float) -> int:
    return int(-(-minutes // 5) * 5)
