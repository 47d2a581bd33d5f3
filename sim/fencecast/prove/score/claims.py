"""What walks show of the requirement: each claim by its own rungs, exactly, and again with every void walk as a miss.

Tests: tests/prove/score/test_scoreclaims.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from fencecast.prove.log.walked import Walked
from fencecast.prove.walks.chance import interval, lower_limit, upper_limit
from fencecast.prove.walks.planfile import Claim, WalkPlan

Verdict = Literal["shown", "walk on", "not shown", "refuted"]


@dataclass(frozen=True)
class Judged:
    """A verdict after n walks with so many misses. next_rung: walks to go on to, for `walk on`. low, high: of the count alone."""

    n: int
    misses: int
    verdict: Verdict
    next_rung: int | None
    low_one_sided: float
    low: float
    high: float


@dataclass(frozen=True)
class ClaimScore:
    """One claim. voids_missed: the verdict with every void walk as a miss.

    voids, replaced: void walks among its cards, and how many of them were walked again. after, after_misses: walks that came
    after the rung which showed it, counted by nothing. unwalked: cards left out though later ones were walked. unbalanced: kinds
    of a pool walked unlike often (most minus fewest walks of a place, above one).
    """

    claim: Claim
    judged: Judged
    voids_missed: Judged
    voids: int
    replaced: int
    after: int
    after_misses: int
    unwalked: tuple[int, ...]
    unbalanced: int


def score_claims(plan: WalkPlan, walks: Sequence[Walked]) -> tuple[ClaimScore, ...]:
    """Every claim of the plan. walks: of one test, in any order; they are judged in the order in which they were walked.

    A claim's walks are its cards. A walk beyond the cards is added to no claim, but for one that repeats a void walk of its kind.
    """
    ordered = sorted(walks, key=lambda walk: (walk.crossed, walk.trial))
    return tuple(_score(plan, claim, ordered) for claim in plan.claims)


def judge(claim: Claim, alarms: Sequence[bool], requirement_pd: float) -> tuple[Judged, int]:
    """The verdict on walks in their order, and after how many of them the test was over (all, when it is not).

    Refuted is judged once: at the miss that ends the ladder, or at its end where all of its walks were walked; what was walked
    beyond that miss may only take it back. Judged after every walk it would err oftener than the confidence allows.
    """
    stops, misses = claim.stops, 0
    ended = len(alarms)
    shown = False
    for walked, alarm in enumerate(alarms, start=1):
        misses += not alarm
        if any(walked == stop and misses <= k for k, stop in enumerate(stops)):
            shown, ended = True, walked
            break
    n = ended if shown else min(len(alarms), stops[-1])
    missed = sum(not alarm for alarm in alarms[:n])
    low, high = interval(n, missed, claim.confidence) if n else (0.0, 1.0)
    verdict: Verdict = "shown"
    following = None
    if not shown:
        if missed >= len(stops) or n >= stops[-1]:
            at = n if n == stops[-1] else _ending(alarms, len(stops))
            ends = {(at, sum(not alarm for alarm in alarms[:at])), (n, missed)}
            below = all(upper_limit(*each, claim.confidence) < requirement_pd for each in ends)
            verdict = "refuted" if below else "not shown"
        else:
            verdict, following = "walk on", next(stop for k, stop in enumerate(stops) if stop > n and missed <= k)
    return Judged(n, missed, verdict, following, lower_limit(n, missed, claim.confidence) if n else 0.0, low, high), n


def _ending(alarms: Sequence[bool], misses: int) -> int:
    """The walk with the miss that is one too many, from 1."""
    return [k for k, alarm in enumerate(alarms, start=1) if not alarm][misses - 1]


def _score(plan: WalkPlan, claim: Claim, ordered: Sequence[Walked]) -> ClaimScore:
    cards = {trial.trial for trial in plan.trials if trial.claim == claim.claim and not trial.control}
    own = [walk for walk in ordered if walk.trial in cards]
    void = [walk for walk in own if walk.void]
    repeats = _repeats(void, [walk for walk in ordered if walk.claim is None and walk.trial not in cards and walk.counts])
    counted = sorted([walk for walk in own if walk.counts] + repeats, key=lambda walk: (walk.crossed, walk.trial))
    judged, used = judge(claim, [walk.alarm for walk in counted], plan.requirement.pd)
    strict, _ = judge(claim, [walk.alarm and not walk.void for walk in own], plan.requirement.pd)
    later = counted[used:]
    walked = {walk.trial for walk in own}
    last = max(walked, default=0)
    return ClaimScore(
        claim, judged, strict, len(void), len(repeats), len(later), sum(not walk.alarm for walk in later),
        tuple(sorted(card for card in cards - walked if card < last)), _unbalanced(plan, claim, counted[:used]),
    )  # fmt: skip


def _repeats(void: Sequence[Walked], beyond: Sequence[Walked]) -> list[Walked]:
    """For each void walk the first later walk beyond the cards of the same kind that repeats no other one."""
    taken: list[Walked] = []
    for walk in void:
        for again in beyond:
            if again.kind is not None and again.kind == walk.kind and again.crossed > walk.crossed and again not in taken:
                taken.append(again)
                break
    return taken


def _unbalanced(plan: WalkPlan, claim: Claim, counted: Sequence[Walked]) -> int:
    if claim.of != "pool":
        return 0
    places = {plan.kind_of(kind).place for kind in claim.kinds}
    counts = [sum(walk.place == place for walk in counted) for place in places]
    gap = max(counts) - min(counts)
    # Rounds come place by place: within one round the counts differ by as many as the place has kinds.
    allowed = max(sum(plan.kind_of(kind).place == place for kind in claim.kinds) for place in places)
    return gap if gap > allowed else 0
