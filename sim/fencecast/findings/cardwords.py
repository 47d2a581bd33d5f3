"""The words of a walker's card: plain, short, no probability and no reason. Metres; with units "us" feet stand beside them.

Tests: tests/findings/test_card_words.py.
"""

from __future__ import annotations

from dataclasses import dataclass

from fencecast.findings.words import feet
from fencecast.prove.walks.alarmline import AlarmLine
from fencecast.prove.walks.cards import Card, Lane

HOW = {
    "walk": "Walk, everyday pace.",
    "run": "Run.",
    "crouch": "Crouch and walk: knees bent, no higher than a table.",
    "crawl": "On hands and knees.",
    "flat_crawl": "Flat on your front, belly on the ground.",
}
# What an intruder crosses, by the site's kind of barrier; every other kind is a fence.
BARRIER = {"wall": "wall", "none": "line"}
AT_THE_FENCE_M = 0.05  # an alarm line nearer is that of the fence
STRAIGHT_M = 0.25  # a finish that near straight ahead is straight ahead


@dataclass(frozen=True)
class CardWords:
    """What is printed on one card. lines: in order, each with whether it is bold; label: of the fence, `A 14.5 m`; end: of the
    end of the lane that is not at the fence, `8 m`; alarm: where the alarm line lies, in metres ahead of the fence line as the
    lane is drawn, None without one; over: at the box for the time, `line at 1.5 m`."""

    number: str
    walker: str
    place: str
    lines: tuple[tuple[str, bool], ...]
    lane: Lane
    label: str
    end: str
    barrier: bool
    alarm: float | None = None
    over: str = "over line"


def tenths(metres: float) -> str:
    """`14`, `14.5`: to 0.1 m, without a naked nought."""
    return f"{metres:.1f}".removesuffix(".0").replace("-0", "0")


def length(metres: float, units: str) -> str:
    """`8 m`, with units "us" `8 m (26 ft)`; a number stays on one line with its unit."""
    text = f"{tenths(metres)}\u00a0m"
    return f"{text} ({feet(metres):.0f}\u00a0ft)" if units == "us" else text


def card_words(card: Card, units: str = "si") -> CardWords:
    """One card in words; units: of the site."""
    away = card.finish_inside_m if card.direction == "in" else card.start_inside_m
    way = "Inwards" if card.direction == "in" else "Outwards"
    return CardWords(
        f"{card.trial}",
        f"walker {card.walker}",
        card.place,
        (
            (start_words(card, units), False),
            (finish_words(card, units), False),
            (HOW[card.gait], True),
            (f"{way}, {length(card.lane.length_m, 'si')} in about {card.pace_s}\u00a0s, in one go.", False),
        ),
        card.lane,
        f"{card.letter} {tenths(card.chainage_m)} m",
        f"{tenths(abs(away))} m",
        card.stand not in ("line",) and card.barrier != "none",
        None if card.alarm is None else card.alarm.inside_m * (1.0 if card.direction == "in" else -1.0),
        over_words(card.alarm),
    )


def over_words(alarm: AlarmLine | None) -> str:
    """At the box for the time: `line at 1.5 m`, `area at 4 m`, `fence line`; metres inside the fence."""
    if alarm is None:
        return "over line"
    if abs(alarm.inside_m) < AT_THE_FENCE_M:
        return "fence line"
    return f"{'area' if alarm.area else 'line'} at {tenths(alarm.inside_m).replace('-', '−')} m"


def alarm_words(alarm: AlarmLine, units: str = "si") -> str:
    """`1.5 m inside the fence`, `on the line of the fence`, `into the area, 4 m inside the fence`."""
    where = "on the line of the fence"
    if abs(alarm.inside_m) >= AT_THE_FENCE_M:
        where = f"{length(abs(alarm.inside_m), units)} {'inside' if alarm.inside_m > 0.0 else 'outside'} the fence"
    return f"into the area, {where}" if alarm.area else where


def start_words(card: Card, units: str = "si") -> str:
    """`Start: back to the fence, feet 0.3 m inside.`"""
    feet_at = f"feet {length(card.start_inside_m, units)} inside"
    if card.stand == "inside":
        return f"Start: {length(card.start_inside_m, units)} inside, facing the {BARRIER.get(card.barrier, 'fence')}."
    if card.stand == "outside":
        return f"Start: {length(-card.start_inside_m, units)} outside."
    where = {"barrier": f"back to the {BARRIER.get(card.barrier, 'fence')}", "gate": "in the gate", "line": "on the line"}
    return f"Start: {where[card.stand]}" + (f", {feet_at}." if card.start_inside_m >= 0.05 else ".")


def finish_words(card: Card, units: str = "si") -> str:
    """`Finish: 8 m inside, straight ahead.`, `Finish: at the fence, 2 m to your left.`"""
    right = card.lane.right_m
    aside = (
        "straight ahead" if abs(right) < STRAIGHT_M else f"{length(abs(right), units)} to your {'right' if right > 0 else 'left'}"
    )
    if card.direction == "in":
        return f"Finish: {length(card.finish_inside_m, units)} inside, {aside}."
    if card.finish_inside_m < -0.5:
        return f"Finish: {length(-card.finish_inside_m, units)} outside, {aside}."
    where = "on the line" if card.barrier == "none" else f"at the {BARRIER.get(card.barrier, 'fence')}"
    return f"Finish: {where}, {aside}."
