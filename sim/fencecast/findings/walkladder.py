"""The ladder of a claim as it is ticked, and what so many walks show: words and exact limits, as data.

Tests: tests/findings/test_walk_words.py.
"""

from __future__ import annotations

from dataclasses import dataclass

from fencecast.findings.words import listed
from fencecast.prove.walks.cards import lower_limits, packs_of, rungs_of
from fencecast.prove.walks.planfile import Claim, WalkPlan

MOST_MISSES = 8


@dataclass(frozen=True)
class RungWords:
    """A rung as it is ticked: after so many walks, (what has been missed, what is done) for every outcome."""

    heading: str
    outcomes: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class LadderWords:
    """The ladder of a claim. trials: the numbers of its cards in order; most_misses: the
    miss that ends it."""

    claim: str
    rungs: tuple[RungWords, ...]
    end: str
    trials: tuple[int, ...]
    most_misses: int


def level_text(confidence: float) -> str:
    """A claim's own confidence: `95 %`, and `98.33 %` of three that hold together."""
    return f"{100.0 * confidence:.4g} %"


def ladders(plan: WalkPlan) -> tuple[LadderWords, ...]:
    """The ladder of every claim as it is ticked; no probability is in it."""
    packs = {(pack.claim, pack.rung): pack.number for pack in packs_of(plan)}
    return tuple(_ladder(plan, claim, packs) for claim in plan.claims)


def _ladder(plan: WalkPlan, claim: Claim, packs) -> LadderWords:
    rungs = rungs_of(claim)
    words = []
    most = rungs[-1].misses
    for rung, following in zip(rungs, (*rungs[1:], None)):
        passed = "no miss" if rung.misses == 0 else f"{rung.misses} missed or fewer"
        outcomes = [(passed, "stop, passed")]
        if following:
            asked = [packs.get((claim.claim, k)) for k, walks in enumerate(claim.stops, start=1) if walks == following.walks]
            numbers = [f"{number}" for number in asked if number]
            cards = f", pack {listed(numbers)}" if numbers else ""
            outcomes.append((_missed(rung.misses + 1, most), f"walk on to {following.walks}{cards}"))
        words.append(RungWords(f"after {rung.walks} walks", tuple(outcomes)))
    trials = tuple(trial.trial for trial in plan.trials if trial.claim == claim.claim and not trial.control)
    return LadderWords(claim.claim, tuple(words), f"at miss {most + 1}: stop, not shown", trials, most + 1)


def _missed(low: int, high: int) -> str:
    if low == high:
        return f"{low} missed"
    return f"{low} or {high} missed" if low + 1 == high else f"{low} to {high} missed"


def limit_rows(plan: WalkPlan) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Exact lower limits of Pd for 0 to 8 misses: (`39 walks, 95 %`, limits), one row for each number of walks of a claim."""
    asked = sorted({(rung.walks, claim.confidence) for claim in plan.claims for rung in rungs_of(claim)})
    return tuple(
        (
            f"{walks} walks, {level_text(confidence)}",
            tuple(f"{pd:.3f}" for pd in lower_limits(walks, confidence, MOST_MISSES)),
        )
        for walks, confidence in asked
    )
