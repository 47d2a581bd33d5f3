"""The order of a test and its time: two rounds, places in random order, gaits in random order inside a place.

Every kind of walk is split over the rounds: what drifts in a night, weather and tired walkers, then falls on all kinds alike.
Walks that only follow a miss come last, in the order of the rungs that need them.

Times [common practice, no source]: one walks, one calls and logs; a third at the alarms makes it no slower.

Tests: tests/prove/walks/test_order.py.
"""

from __future__ import annotations

import hashlib
import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

RETURN_M_S = 1.3  # back to the start, at a walk
CALL_S = 20.0  # to call and note a walk
SETTLE_S = 20.0  # until what is counted for one walk (5 s before to 15 s after the crossing) and for the next cannot meet
CHANGE_S = 60.0  # to another place, beside the way there
SET_UP_S = 20.0 * 60.0  # clocks, radios, marks on the ground
SPARE = 1.10  # on everything
TRADE_MINUTES = 3.0  # a walk, as the trade counts
AFTER_A_MISS = 3  # the round of walks that only follow a miss


@dataclass(frozen=True)
class Want:
    """Walks that are wanted: a kind (key of any sort), how often, for which claim, on which rung, whether as a control."""

    kind: str
    place: str
    count: int
    claim: str | None = None
    rung: int = 1
    control: bool = False


@dataclass(frozen=True)
class Step:
    """One walk in its turn."""

    kind: str
    place: str
    round: int
    claim: str | None
    rung: int
    control: bool


def stream(seed: int, *purpose: str) -> np.random.Generator:
    """Random numbers for one purpose: the same for the same seed and words, whatever else is drawn."""
    digest = hashlib.sha256("\0".join([str(seed), *purpose]).encode("utf-8")).digest()
    return np.random.default_rng(int.from_bytes(digest[:16], "big"))


def walk_seconds(path_m: float, speed_m_s: float) -> float:
    """One walk: path_m [m] from start to finish at speed_m_s, back at 1.3 m/s, called, logged, and settled [s].

    12 m on either side of the line: walking 77 s, running 64 s, crouching and on hands and knees 88 s, flat 138 s.
    """
    return path_m / speed_m_s + path_m / RETURN_M_S + CALL_S + SETTLE_S


def change_seconds(distance_m: float) -> float:
    """From one place to the next [s]."""
    return CHANGE_S + distance_m / RETURN_M_S


def in_order(wants: Sequence[Want], seed: int) -> list[Step]:
    """All walks in the order in which they are walked; the same for the same seed.

    Walks of rung 1 and controls go in two rounds, each kind split over both (of an odd number now one round has more, now the
    other, gait by gait and place by place); walks of later rungs follow, rung by rung.
    """
    random = stream(seed, "order")
    wants = sorted(wants, key=lambda want: (want.place, want.kind, want.claim or "", want.control))
    first = [want for want in wants if want.rung == 1]
    rounds: tuple[list[Step], list[Step]] = ([], [])
    extra: Counter[tuple[str, bool]] = Counter()
    for want in first:
        more = want.count % 2
        place_first = (extra[want.place, want.control] + _turn(want.place)) % 2 if more else 0
        extra[want.place, want.control] += more
        for which in (0, 1):
            count = want.count // 2 + (more if which == place_first else 0)
            rounds[which].extend([Step(want.kind, want.place, which + 1, want.claim, 1, want.control)] * count)
    steps = _shuffled(rounds[0], random, None)
    steps += _shuffled(rounds[1], random, steps[-1].place if steps else None)
    for rung in sorted({want.rung for want in wants} - {1}):
        later = [
            Step(w.kind, w.place, AFTER_A_MISS, w.claim, rung, False) for w in wants if w.rung == rung for _ in range(w.count)
        ]
        steps += _shuffled(later, random, steps[-1].place if steps else None)
    return steps


def _turn(place: str) -> int:
    return hashlib.sha256(place.encode("utf-8")).digest()[0] & 1


def _shuffled(steps: Sequence[Step], random: np.random.Generator, last: str | None) -> list[Step]:
    """Places in random order, the first another one than `last` where there is a choice; walks of a place in random order."""
    places = sorted({step.place for step in steps})
    order = [places[k] for k in random.permutation(len(places))]
    if len(order) > 1 and order[0] == last:
        order = [*order[1:], order[0]]
    found = []
    for place in order:
        here = sorted(
            (step for step in steps if step.place == place), key=lambda step: (step.kind, step.claim or "", step.control)
        )
        found += [here[k] for k in random.permutation(len(here))]
    return found


def minutes_of(steps: Sequence[Step], seconds: Mapping[str, float], where: Mapping[str, tuple[float, float]]) -> float:
    """Minutes that the walks take in their order, set-up and spare time included.

    seconds: of a walk, by kind; where: of each place, (x, y) [m].
    """
    total, at = SET_UP_S, None
    for step in steps:
        if step.place != at:
            total += change_seconds(0.0 if at is None else math.dist(where[at], where[step.place]))
            at = step.place
        total += seconds[step.kind]
    return SPARE * total / 60.0
