"""`fencecast walk chance`: plans of a test side by side, with the chance that each passes. No site is needed.

Tests: tests/prove/walks/test_chance.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fencecast.errors import UsageError
from fencecast.prove.walks import chance

# True Pd at which chances are shown when none is named: the requirement, then shares of the way from it to 1.
_SHARES = (0.0, 0.3, 0.5, 0.7, 0.8, 0.9)
ALIKE = (0.02, 0.05, 0.10)  # correlations of walks that share a night or a walker


@dataclass(frozen=True)
class PlanChance:
    """One plan. stops: its rungs (`prove.walks.chance`); errs: its chance of passing at the requirement itself; chances, walks:
    the chance of passing and the walks expected at each true Pd; alike: its chance of passing at the requirement when walks are
    correlated by each of `ALIKE`."""

    kind: str  # "fixed" or "ladder"
    stops: tuple[int, ...]
    errs: float
    chances: tuple[float, ...]
    walks: tuple[float, ...]
    alike: tuple[float, ...]


@dataclass(frozen=True)
class WalkChance:
    """The requirement, the true values of Pd at which chances are given, and the plans: fixed ones first, then the ladder."""

    pd: float
    confidence: float
    true: tuple[float, ...]
    plans: tuple[PlanChance, ...]


def walk_chance(pd: float = 0.90, confidence: float = 0.95, misses: int = 2, true: Sequence[float] = ()) -> WalkChance:
    """Test plans that show Pd >= pd at the confidence, with their chance of passing.

    Plans of a fixed number of walks with 0 to `misses` misses, and the ladder with as many (`prove.walks.chance.ladder`). true:
    values of the true Pd [fraction] at which the chances are wanted; some from the requirement upwards when none is named.
    UsageError for a number outside what is allowed.
    """
    chance.check_claim(pd, confidence, misses)
    for value in true:
        if not 0.0 <= value <= 1.0:
            raise UsageError(f"true {value:g} is not allowed: a number from 0 to 1; type for instance 0.95")
    asked = tuple(dict.fromkeys(true)) or tuple(round(pd + share * (1.0 - pd), 6) for share in _SHARES)
    plans = [_plan("fixed", chance.fixed(pd, confidence, k), pd, asked) for k in range(misses + 1)]
    if misses:  # a ladder of one rung is the first fixed plan
        plans.append(_plan("ladder", chance.ladder(pd, confidence, misses), pd, asked))
    return WalkChance(pd, confidence, asked, tuple(plans))


def _plan(kind: str, stops: tuple[int, ...], pd: float, true: tuple[float, ...]) -> PlanChance:
    went = chance.course(stops, list(true))
    return PlanChance(
        kind, stops, chance.chance_of(stops, pd), tuple(went.chance.tolist()), tuple(went.expected_walks.tolist()),
        tuple(chance.chance_of(stops, pd, alike) for alike in ALIKE),
    )  # fmt: skip
