"""What a walker's card says, as facts: where the walk starts, which way it goes, how far, in how many seconds; packs of cards.

A walker never reads a probability or why a walk is walked. Everything comes from the plan and from the site in it.
Tests: tests/prove/walks/test_cards.py.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from fencecast.estimate.placecodes import section_letters
from fencecast.prove.walks.alarmline import AlarmLine, AlarmLines
from fencecast.prove.walks.chance import lower_limit
from fencecast.prove.walks.planfile import Claim, Kind, Place, Trial, WalkPlan
from fencecast.site import Site
from fencecast.site.geometry import direction_at, in_gate, inward_normal_at

# What a walker stands at: the barrier at his back, a gate, the line alone (a quay), ground outside it, ground inside.
Stand = Literal["barrier", "gate", "line", "outside", "inside"]
OUTSIDE_M = 0.5  # a start that far outside the line is no start at the fence


@dataclass(frozen=True)
class Lane:
    """A walk as the walker sees it when he faces the way he goes: (right, ahead) in metres from the place on the fence line.

    start, finish: of the walk; the fence line is where ahead is 0. chainage_right: the metres of the fence grow to his right.
    """

    start: tuple[float, float]
    finish: tuple[float, float]
    chainage_right: bool

    @property
    def length_m(self) -> float:
        """From start to finish, straight."""
        return math.dist(self.start, self.finish)

    @property
    def right_m(self) -> float:
        """How far to the walker's right the finish lies of the start; negative: to his left."""
        return self.finish[0] - self.start[0]


@dataclass(frozen=True)
class Card:
    """One card. letter, section, chainage_m: the place on the fence; barrier: the site's kind of it there.

    stand: where the walk starts. start_inside_m, finish_inside_m: how far inside the fence line, negative outside. pace_s: whole
    seconds from start to finish. pack: 1 for the walks of every first rung. alarm: the line at which the caller takes the time,
    None where the walk meets none.
    """

    trial: int
    walker: Literal["A", "B"]
    place: str
    letter: str
    section: str
    chainage_m: float
    barrier: str
    gait: str
    direction: Literal["in", "out"]
    stand: Stand
    start_inside_m: float
    finish_inside_m: float
    pace_s: int
    lane: Lane
    pack: int
    alarm: AlarmLine | None = None


@dataclass(frozen=True)
class Pack:
    """Cards that are handed out together: the first rungs of all claims, then one pack for each later rung of each claim."""

    number: int
    claim: str | None
    rung: int
    trials: tuple[int, ...]


@dataclass(frozen=True)
class Rung:
    """After so many walks at most so many misses pass."""

    walks: int
    misses: int


def walkers_of(plan: WalkPlan) -> dict[int, Literal["A", "B"]]:
    """Who walks each trial: A the odd rounds, B the even ones, so that they swap once; of one round A the first half."""
    first = [trial for trial in plan.trials if trial.rung == 1]
    if len({trial.round for trial in first}) > 1:
        return {trial.trial: "A" if trial.round % 2 else "B" for trial in plan.trials}
    half = (len(plan.trials) + 1) // 2
    return {trial.trial: "A" if k < half else "B" for k, trial in enumerate(plan.trials)}


def packs_of(plan: WalkPlan) -> tuple[Pack, ...]:
    """The packs, each in the order of the plan; packs that would be empty are left out."""
    order = {claim.claim: k for k, claim in enumerate(plan.claims)}
    groups: dict[tuple[int, int], list[Trial]] = {}
    for trial in plan.trials:
        key = (-1, 1) if trial.rung == 1 else (order.get(trial.claim or "", len(order)), trial.rung)
        groups.setdefault(key, []).append(trial)
    return tuple(
        Pack(number, None if rung == 1 else group[0].claim, rung, tuple(trial.trial for trial in group))
        for number, ((_, rung), group) in enumerate(sorted(groups.items()), start=1)
    )


def cards_of(plan: WalkPlan, site: Site) -> tuple[Card, ...]:
    """Every card in the order of the plan's trials.

    site: made from the plan's own text. KeyError when a place's section is not in it.
    """
    letters, walkers = section_letters(site), walkers_of(plan)
    sections = {section.name: (section, letter) for section, letter in zip(site.perimeter, letters)}
    places, kinds = {place.place: place for place in plan.places}, {kind.kind: kind for kind in plan.kinds}
    packs = {trial: pack.number for pack in packs_of(plan) for trial in pack.trials}
    cards, lines = [], AlarmLines(site)
    for trial in plan.trials:
        kind = kinds[trial.kind]
        place = places[kind.place]
        section, letter = sections[place.section]
        start, finish = _ends(place, kind)
        inward = inward_normal_at(section, place.chainage_m)
        line = np.array([place.x_m, place.y_m])
        inside = [float((np.asarray(point) - line) @ inward) for point in (start, finish)]
        ahead = inward if kind.direction == "in" else -inward
        right = np.array([ahead[1], -ahead[0]])
        lane = Lane(
            *(_seen(np.asarray(point) - line, right, ahead) for point in (start, finish)),
            chainage_right=bool(right @ direction_at(section, place.chainage_m) > 0.0),
        )
        gate = bool(in_gate(section, place.chainage_m))
        stand = _stand(kind.direction, inside[0], gate, section.barrier)
        cards.append(
            Card(
                trial.trial, walkers[trial.trial], place.place, letter, place.section, place.chainage_m, section.barrier,
                kind.gait, kind.direction, stand, *inside, max(1, math.floor(kind.path_s + 0.5)), lane, packs[trial.trial],
                lines.met(start, finish, kind.direction, line, inward),
            )
        )  # fmt: skip
    return tuple(cards)


def _ends(place: Place, kind: Kind) -> tuple[tuple[float, float], tuple[float, float]]:
    """Where a walk starts and ends [m]; outwards it is the same lane the other way."""
    return (place.start_m, place.finish_m) if kind.direction == "in" else (place.finish_m, place.start_m)


def _seen(point: np.ndarray, right: np.ndarray, ahead: np.ndarray) -> tuple[float, float]:
    return float(point @ right), float(point @ ahead)


def _stand(direction: str, inside_m: float, gate: bool, barrier: str) -> Stand:
    if direction == "out":
        return "inside"
    if inside_m < -OUTSIDE_M:
        return "outside"
    if gate:
        return "gate"
    return "line" if barrier == "none" else "barrier"


def rungs_of(claim: Claim) -> tuple[Rung, ...]:
    """The rungs of a claim, those of equal numbers of walks as one: (46, 46) is 46 walks with at most one miss."""
    misses = {walks: k for k, walks in enumerate(claim.stops)}
    return tuple(Rung(walks, misses[walks]) for walks in sorted(misses))


def lower_limits(walks: int, confidence: float, most: int = 8) -> tuple[float, ...]:
    """Exact one-sided lower limit of Pd after so many walks with 0, 1, ... `most` misses, and no more misses than walks."""
    return tuple(lower_limit(walks, misses, confidence) for misses in range(min(most, walks) + 1))
