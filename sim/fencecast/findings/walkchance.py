"""What `fencecast walk chance` says in the terminal and as JSON; the words of a plan's rungs, for all that names them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from fencecast import __version__
from fencecast.cautions import CAUTION
from fencecast.findings.blocks import CAUTION_ROLE, LEFT, NOTE, RIGHT, TITLE, Block, Line, Table
from fencecast.findings.words import confidence_text, listed, number_word, plural, requirement_text
from fencecast.prove.walks.chance import chance_of
from fencecast.prove.walks.testplans import ALIKE, PlanChance, WalkChance


def stops_words(stops: Sequence[int]) -> str:
    """The rungs of a plan: '29 walks, no miss', '46 walks, one miss', 'ladder of 39, 53 and 65 walks'."""
    if len(set(stops)) == 1:
        return f"{stops[0]:,} walks, {'no miss' if len(stops) == 1 else plural(len(stops) - 1, 'miss', 'misses')}"
    return f"ladder of {listed([f'{stop:,}' for stop in stops])} walks"


def test_words(stops: Sequence[int]) -> str:
    """The same as the subject of a sentence: 'a test of 36 walks without a miss', 'the ladder of 36 and 48 walks'."""
    if len(set(stops)) > 1:
        return f"the {stops_words(stops)}"
    misses = len(stops) - 1
    return f"a test of {stops[0]:,} walks " + (
        "without a miss" if not misses else f"with at most {plural(misses, 'miss', 'misses')}"
    )


def chance_object(found: WalkChance) -> dict[str, Any]:
    """The JSON object of `walk chance --json`."""
    return {
        "version": __version__,
        "requirement": {"pd": found.pd, "confidence": found.confidence},
        "true": list(found.true),
        "plans": [
            {
                "kind": plan.kind,
                "stops": list(plan.stops),
                "misses": len(plan.stops) - 1,
                "passes_at_requirement": plan.errs,
                "chance": list(plan.chances),
                "expected_walks": list(plan.walks),
                "passes_at_requirement_alike": [[alike, chance] for alike, chance in zip(ALIKE, plan.alike)],
            }
            for plan in found.plans
        ],
        "caution": CAUTION,
    }


def chance_blocks(found: WalkChance) -> list[Block]:
    """Plans with their chance of passing, how many walks each needs, and what alike walks do to it."""
    required, confidence = requirement_text(found.pd), confidence_text(found.confidence)
    columns = [("plan", LEFT), *((f"at {value:g}", RIGHT) for value in found.true)]
    rows = [[stops_words(plan.stops), *(chance_text(value) for value in plan.chances)] for plan in found.plans]
    blocks: list[Block] = [
        Line(f"Walks that show Pd {required} at {confidence}", TITLE),
        Line(f"Chance of passing, by the true Pd. At {required} itself it is the chance that a test is wrong.", NOTE),
        Table.of(columns, rows),
    ]
    ladders = [plan for plan in found.plans if plan.kind == "ladder"]
    if ladders:
        blocks += _ladder(found, ladders[0])
    first = found.plans[0]
    shares = listed([f"{alike:g}" for alike in ALIKE])
    passes = listed([chance_text(chance) for chance in first.alike])
    text = (
        f"All this holds for independent walks. Walks of one night or one walker are alike: with a correlation of {shares} "
        f"between them, a true mean of {required} passes {stops_words(first.stops)} in {passes} of tests, not in "
        f"{chance_text(first.errs)}. "
        "So: two walkers at least, two nights where it matters, and a claim names its night."
    )
    return [*blocks, Line(text, apart=True), Line(CAUTION, CAUTION_ROLE, apart=True)]


def _ladder(found: WalkChance, plan: PlanChance) -> list[Block]:
    """How a ladder is walked, how long it takes, and why fixed plans must not be walked on."""
    steps = ", ".join(
        f"{stop} with {'none' if k == 0 else f'at most {number_word(k)}'} missed" for k, stop in enumerate(plan.stops)
    )
    columns = [("walks until it ends, on average", LEFT), *((f"at {value:g}", RIGHT) for value in found.true)]
    row = [stops_words(plan.stops), *(f"{walks:.1f}" for walks in plan.walks)]
    fixed = [each.stops[0] for each in found.plans if each.kind == "fixed"]
    mixed = chance_of(fixed, found.pd)
    return [
        Line(f"The ladder passes after {steps}; the {_ordinal(len(plan.stops))} miss ends it.", apart=True),
        Table.of(columns, [row]),
        Line(
            "A plan is chosen before the first walk. Walking on after a miss from "
            f"{fixed[0]} to {listed([str(n) for n in fixed[1:]])} walks is no "
            f"fixed plan: it is wrong in {chance_text(mixed)} of tests at a true Pd of {requirement_text(found.pd)}.",
        ),
    ]


def chance_text(value: float) -> str:
    """A chance with three decimals, as tests of plans are compared; never 1 for what may fail."""
    return ">0.999" if 0.9995 <= value < 1.0 else "<0.001" if 0.0 < value < 0.0005 else f"{value:.3f}"


def passes_words(chance: float) -> str:
    """'one time in four', '6 times in ten', 'less than one time in 100'."""
    if chance < 0.01:
        return "less than one time in 100"
    if chance >= 0.95:
        return "nearly every time" if chance < 0.995 else "every time but in one of 200 and fewer"
    if chance <= 0.35:
        return f"one time in {number_word(round(1.0 / chance))}"
    return f"{number_word(round(10.0 * chance))} times in ten"


def _ordinal(number: int) -> str:
    names = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")
    return names[number - 1] if number <= len(names) else f"{number}th"
