"""When in the year: the hours below the requirement, their carpet, and by month."""

from __future__ import annotations

from dataclasses import dataclass

from fencecast.estimate.results import Results
from fencecast.findings.blocks import LEFT, NOTE, RIGHT, Block, Line, Table
from fencecast.findings.hours import hours_blocks
from fencecast.findings.weakhours import MONTHS
from fencecast.findings.words import first_upper, requirement_text, whole
from fencecast.findings.yeartitles import Weak, weak_year
from fencecast.report.sections.section import Body, Source
from fencecast.show.svg.year import carpet_svg


@dataclass(frozen=True)
class Year:
    """lines: sentences; caption and carpet (SVG); months: a table with its heading; notes: record and method."""

    lines: tuple[str, ...]
    caption: str
    carpet: str
    months: tuple[Block, ...]
    notes: tuple[str, ...]


def year_of(source: Source) -> Body | None:
    """The section of a site with hourly weather; None for one with described classes, or where nothing is watched."""
    results = source.results
    year = weak_year(results) if "pd_state" in results else None
    carpet = carpet_svg(results)
    if year is None or carpet is None:
        return None
    lines = [block for block in hours_blocks(results) if isinstance(block, Line)]
    facts = Year(
        lines=tuple(line.text for line in lines if line.role != NOTE),
        caption=f"{carpet.subtitle.partition('. ')[0]}.",  # the interval stands in the sentences
        carpet=carpet.svg,
        months=tuple(_months(results, year)),
        notes=tuple(line.text for line in lines if line.role == NOTE),
    )
    return Body("When in the year", f"{first_upper(carpet.title)}.", facts)


def _months(results: Results, year: Weak) -> list[Block]:
    """Hours below the requirement by calendar month, of the place that the carpet shows."""
    rows = [[MONTHS[k], whole(float(year.counted[k])), whole(float(year.weak[k]))] for k in range(12) if year.counted[k] >= 0.5]
    span = "h/yr" if year.a_year else "hours"
    columns = [("month", LEFT), (f"armed, {span}", RIGHT), (f"below {requirement_text(results.requirement)}, {span}", RIGHT)]
    return [Table.of(columns, rows)]
