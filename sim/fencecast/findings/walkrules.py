"""The rules of a walk test: of the test, for the walker, for the caller; where the alarm line lies; what the log's columns mean.

Tests: tests/findings/test_walk_rules.py.
"""

from __future__ import annotations

from collections.abc import Sequence

from fencecast.findings.cardwords import alarm_words
from fencecast.prove.walks.alarmline import AlarmLine
from fencecast.prove.walks.cards import Card, packs_of, walkers_of
from fencecast.prove.walks.planfile import WalkPlan

MOST_LINES = 4  # different alarm lines that are written out
PEOPLE = (
    "Best with three: walker, caller (gives the word, writes the time), and one at the alarms who hears nothing of the walks. "
    "With two, write on the log that the caller read the alarms and knew."
)
WALKER_RULES = (
    "Keep your cards in their order and show them to nobody.",
    "Stand at the start, say the card's number and “ready”. Go on the caller's word.",
    "Move as the card says, straight, in one go, in about the time it gives. At the finish stand still until the next word.",
    "Come back through the yard, never along the fence.",
    "Say at once when you fell, went wrong, or saw a person, an animal or a vehicle.",
    "Wear the same clothes throughout; the log says which.",
)
# Daily wear as in ISO 7730, rounded, from memory; a business suit is 1 clo by definition.
CLO_WORDS = (
    "clo (walkers.csv): how warm the clothes are; about 0.6 shirt and trousers, 1 with a jacket, 1.5 with a coat over it; "
    "leave it empty if unsure."
)


def rules(plan: WalkPlan) -> tuple[str, ...]:
    """The rules of the test; those of claims, of pools and of the ladder only where the plan has them."""
    start = (
        "Walks start at the fence: no climb, no approach from outside. Predictions are of such walks, not of one who climbs."
        if plan.from_fence
        else "Walks come from outside and cross as the cards say, without a climb. Predictions are of such walks alone."
    )
    paint = "Paint the metres on the fence every 5 m, and every start and finish, before the test."
    if plan.claims:
        order = (
            f"{paint} Fix the numbers on this page before the first walk. Add no walks and leave none out: only the ladder says "
            "when to walk on or to stop."
        )
        weather = "In other weather the claims are not made."
    else:
        order = f"Walk every card once; further walks only for N50, after the last card. {paint}"
        weather = "In other weather the prediction is of no use."
    pooled = ["A pooled claim speaks for its places together, not for any one of them. A place needs a claim of its own."]
    return (
        order,
        "A walk is void only when the caller or the director says so before he knows its result, with its reason; it is walked "
        "again under the next free number.",
        f"{PEOPLE} Walkers know only their own cards, in this order.",
        f"The weather is {plan.weather}; it is written on the log every half hour. {weather}",
        "An alarm counts from 5 s before a foot comes over the alarm line to 15 s after. All clocks are set to one source, and "
        "compared at the start and at the end. Two walks cross the line at least 20 s apart.",
        start,
        *(pooled if any(claim.of == "pool" for claim in plan.claims) else []),
        "Nobody climbs, runs on wet ground, or goes near water alone. Traffic in the yard is stopped; a first-aider is at hand.",
    )


def caller_rules(plan: WalkPlan) -> tuple[str, ...]:
    """What the caller does, and who walks which cards."""
    return (
        "Say the number, wait for “ready”, wait 20 s, give the word. Nobody else gives it.",
        "Write the time to the second when the walker's foot comes over the alarm line.",
        "Say void before you look at any alarm, or not at all.",
        "One box for each camera: no, yes, or the time of its first alarm. An empty box is no “no”. A camera that is off: off.",
        "Write down alarms between walks too: how many each hour, of which camera.",
        who_walks(plan),
    )


def who_walks(plan: WalkPlan) -> str:
    """`A walks cards 1 to 19, B 20 to 40.` of the first pack; cards of later packs say it themselves."""
    packs, walkers = packs_of(plan), walkers_of(plan)
    if not packs:
        return "No cards."
    cards = {name: tuple(trial for trial in packs[0].trials if walkers[trial] == name) for name in ("A", "B")}
    said = [f"{name} walks cards {ranges(own)}" for name, own in cards.items() if own]
    text = ", ".join(said).replace(", B walks cards", ", B")
    return text + ("; cards of later packs say who walks." if len(packs) > 1 else ".")


def alarm_line_words(cards: Sequence[Card], units: str = "si") -> str:
    """Where the caller takes the time: one sentence for all cards, by the letters of the fence where they differ."""
    lines: dict[str, list[str]] = {}
    depths: list[AlarmLine] = []
    for card in cards:
        if card.alarm is not None:
            letters = lines.setdefault(alarm_words(card.alarm, units), [])
            depths.append(card.alarm)
            if card.letter not in letters:
                letters.append(card.letter)
    if not lines:
        return "Alarm line: no walk meets one."
    end = "; drawn in dashes on every card."
    if len(lines) == 1:
        return f"Alarm line: {next(iter(lines))}{end}"
    if len(lines) <= MOST_LINES:
        return "Alarm line: " + "; ".join(f"{text} ({', '.join(sorted(letters))})" for text, letters in lines.items()) + end
    ends = [alarm_words(each, units) for each in (min(depths, key=_depth), max(depths, key=_depth))]
    return f"Alarm line: from {ends[0]} to {ends[1]}{end}"


def _depth(line: AlarmLine) -> float:
    return line.inside_m


def log_notes(cards: Sequence[Card]) -> tuple[str, ...]:
    """What stands under the paper log: columns that nobody knows by their names."""
    depth = "depth_m (in the note): how far inside the fence the walker was when the alarm came, in metres."
    return (
        "crossed: the caller's time at which a foot came over the alarm line; after midnight write the new date in the note.",
        "recorder: the recorder's clock, read when the caller reads his (rows clock of log.csv), or its time of an alarm between "
        "walks (rows alarm).",
        *((depth,) if any(card.alarm is not None and card.alarm.area for card in cards) else ()),
        CLO_WORDS,
    )


def ranges(numbers: Sequence[int]) -> str:
    """`1, 3, 5 to 9`: three and more in a row as a range."""
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    parts = [f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(f"{n}" for n in run) for run in runs]
    return ", ".join(parts)
