"""Client edition, why: weak places counted by cause, and what usually helps against each."""

from __future__ import annotations

from dataclasses import dataclass

from fencecast.estimate.results import Results
from fencecast.findings.sheetwords import CAUSE_MEANINGS
from fencecast.findings.words import first_upper, metres_text, number_word, plural
from fencecast.report.sections.section import Body, Source
from fencecast.report.words import HELPS
from fencecast.show.svg.keys import cause_swatch_svg

UNNAMED = "too few misses to tell"


@dataclass(frozen=True)
class CauseRow:
    """One cause: how many places it leads at, their metres, what it means and what usually helps; swatch: as SVG."""

    cause: str
    swatch: str
    places: str
    metres: str
    means: str
    helps: str


@dataclass(frozen=True)
class ClientWhy:
    """Rows, most metres first; note: how a place's cause is told."""

    rows: tuple[CauseRow, ...]
    note: str


def why_of(source: Source) -> Body | None:
    """The section; None where no place is weak."""
    results = source.results
    places = results.weak_places
    if not places:
        return None
    metres: dict[str, float] = {}
    counts: dict[str, int] = {}
    for place in places:
        cause = place.cause or UNNAMED
        metres[cause] = metres.get(cause, 0.0) + place.length_m
        counts[cause] = counts.get(cause, 0) + 1
    order = sorted(metres, key=lambda cause: -metres[cause])
    rows = tuple(_row(results, cause, counts[cause], metres[cause]) for cause in order)
    note = (
        "Each place is counted by the main cause of its misses in the mildest weather in which it is weak: there a fault shows."
    )
    return Body("Why, and what usually helps", _finding(order, counts, len(places)), ClientWhy(rows, note))


def _row(results: Results, cause: str, count: int, metres: float) -> CauseRow:
    return CauseRow(
        cause=cause,
        swatch=cause_swatch_svg(cause).svg if cause in CAUSE_MEANINGS else "",
        places=number_word(count),
        metres=metres_text(metres, results.units),
        means=CAUSE_MEANINGS[cause].partition(": ")[0] if cause in CAUSE_MEANINGS else "the fence is hardly missed there",
        helps=first_upper(HELPS[cause]) if cause in HELPS else "",
    )


def _finding(order: list[str], counts: dict[str, int], total: int) -> str:
    """`Four places are weak: three mainly washed out, one mainly not in view.`"""
    start = f"{first_upper(plural(total, 'place'))} {'is' if total == 1 else 'are'} weak"
    if len(order) == 1:
        return f"{start}, {'each ' if total > 1 else ''}{_mainly(order[0])}."
    return f"{start}: {', '.join(f'{number_word(counts[cause])} {_mainly(cause)}' for cause in order)}."


def _mainly(cause: str) -> str:
    if cause == UNNAMED:
        return "with too few misses to name a cause"
    return "mainly because no rule is there" if cause == "no rule there" else f"mainly {cause}"
