"""Places whose walks raised more or fewer alarms than the plan gives them: a list of at most three to look at, never a proof.

Tests: tests/prove/score/test_scoretotal.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fencecast.prove.score.tables import Predicted
from fencecast.prove.score.total import holm, two_sided_p

MOST = 3


@dataclass(frozen=True)
class PlaceScore:
    """Alarms of n walks at a place against the mean predicted Pd. p: exact mid-P, two-sided; p_holm: allowing for all places."""

    place: str
    n: int
    alarms: int
    pd: float
    p: float
    p_holm: float


def score_places(walks: Sequence[Predicted]) -> tuple[PlaceScore, ...]:
    """The places with the smallest p, at most three, smallest first; p_holm counts every place that was walked."""
    places: dict[str, list[Predicted]] = {}
    for walk in walks:
        places.setdefault(walk.walk.place, []).append(walk)
    names = sorted(places)
    found = []
    for name in names:
        pd = [walk.pd for walk in places[name]]
        alarms = sum(walk.alarm for walk in places[name])
        found.append((name, len(pd), alarms, sum(pd) / len(pd), two_sided_p(pd, alarms, middle=True)))
    adjusted = holm([each[4] for each in found])
    scores = [PlaceScore(*each, together) for each, together in zip(found, adjusted, strict=True)]
    return tuple(sorted(scores, key=lambda score: (score.p, score.place))[:MOST])
