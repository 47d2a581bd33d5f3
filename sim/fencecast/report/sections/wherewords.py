"""What is said of one metre in one weather class. The patterns stand here once: `metre_lines` fills them for the page as it is
printed, and the page's script is handed the same ones."""

from __future__ import annotations

import re

from fencecast.estimate.results import Results
from fencecast.findings.titles import over_year
from fencecast.findings.words import first_upper, in_class, plural
from fencecast.show.svg.plan import VERDICT_LETTERS

OF_USE = 0  # a camera of no use there (`findings.readings.BEST_AT_LEAST`) has no number in the data

# Values are put in for {names}. One sentence each, none shared, so that a translation is one table.
PATTERNS = {
    "here": "{where}, {hours}: Pd {pd}, {verdict}.",
    "year": "{where}, weather classes weighted by hours: Pd {pd}, {verdict}.",
    "year_why": "Causes and cameras stand with each weather class.",
    "why": "Missed there: {causes}.",
    "share": "{cause} {share} %",
    "nearly_all": "nearly all {cause}",
    "few": "Misses are too few to name a cause.",
    "best": "Best camera here: {mark}, Pd {pd} alone.",
    "best_two": "Best camera here: {mark}, Pd {pd} alone; next {mark2}, Pd {pd2}.",
    "nobody": "No camera alone is of use here.",
    "helps": "What usually helps: {help}.",
    "part": "Part of place {number}, {code}: {reading}",
    "part_unread": "Part of place {number}, {code}.",
    "low": "Among the lowest places, {code}: {reading}",
    "none": "No data: not armed or not simulated.",
    "at": "{code}, {weather}: Pd {pd}, {verdict}",
    "at_none": "{code}, {weather}: no data",
}
# The words of the letters that stand for verdicts in the data of the page.
VERDICTS = {letter: word for word, letter in VERDICT_LETTERS.items()}


def fill(pattern: str, **values: object) -> str:
    """A pattern with its values; what stands in a value is never read as a name."""
    return re.sub(r"\{(\w+)\}", lambda found: str(values[found[1]]), PATTERNS[pattern])


def class_start(name: str) -> str:
    """How a sentence about a weather class begins: `In heavy rain`, `After rain`."""
    return first_upper(in_class(name))


def year_start(results: Results) -> str:
    """How a sentence about the last row begins: `Over the year`, or what was run of it."""
    return first_upper(over_year(results))


def how_to(start_code: str, worst: str, weak: bool, classes: int) -> tuple[str, str]:
    """What a reader may do with the script, and what the page shows without it."""
    which = "the worst class" if classes > 1 else "the one class"
    lowest = "the lowest part of place 1" if weak else "the lowest part"
    return (
        "Choose a weather class, and a place: on the plan, on the strip below, or with the slider. Plan, table and box follow.",
        f"Plan: {worst}, {which}. Table: the whole fence, and {start_code}, {lowest}. "
        "The strip shows every metre in every class.",
    )


def plan_label(name: str) -> str:
    """What the plan is, for those who do not see it."""
    return f"Plan of the fence in one weather class, at first {name}. The table and the box beside it tell the same in words."


def strip_label(classes: int) -> str:
    """What the strip is, for those who do not see it."""
    rows = plural(classes, "weather class", "weather classes")
    return f"Fence strip: the fence unrolled, {rows}, worst on top. An annex tells the same in words, stretch by stretch."


def strip_words(results: Results) -> str:
    """How the strip is to be read."""
    sides = {perimeter.inside for perimeter in results.site.perimeter}
    side = f"on your {sides.pop()}" if len(sides) == 1 else "on the side that its section says"
    walked = f"The fence unrolled as you walk it with the yard {side}, worst weather class on top."
    return f"{walked} Black rails: weak; hatched: undecided."


def fresh_note(any_fresh: bool) -> str:
    """Why a number may differ from the colours beside it; '' when all are of one run."""
    if not any_fresh:
        return ""
    return (
        "Where a metre was run again on fresh crossings because it was among the lowest, table and box give that number and its "
        "own verdict; plan and strip show the first run."
    )


def buttons(weak: bool) -> tuple[str, str]:
    """What the two buttons are called."""
    kind = "weak" if weak else "low"
    return f"Previous {kind} place", f"Next {kind} place"
