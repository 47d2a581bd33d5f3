"""What it costs: the bill of the site at its own prices, and what a metre that meets costs. For the full edition alone."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from fencecast.decide.bill.bill import bill
from fencecast.findings.bill import bill_blocks
from fencecast.findings.blocks import CAUTION_ROLE, FINDING, NOTE, TITLE, Block, Line
from fencecast.report.sections.section import Body, Source


@dataclass(frozen=True)
class Cost:
    """Tables and sentences."""

    blocks: tuple[Block, ...]


def cost_of(source: Source) -> Body | None:
    """The section; None when the site has no price at all. The age of the prices is asked on the day of the report."""
    results = source.results
    day = datetime.date.fromisoformat(source.options.dated or str(results.attrs["created"])[:10])
    found, compared = bill(results.site, results, date=day), source.comparison
    if all(line.each is None for each in found.bills for line in each.lines):
        return None
    if compared is not None:
        found = bill(results.site, compared, date=day)
    blocks = [block for block in bill_blocks(found) if not (isinstance(block, Line) and block.role in (TITLE, CAUTION_ROLE))]
    finding = next(block.text for block in blocks if isinstance(block, Line) and block.role == FINDING)
    rest = [block for block in blocks if not (isinstance(block, Line) and block.role == FINDING)]
    if compared is not None:
        rest.append(Line("Metres that meet are counted in the comparison, on crossings of its own.", NOTE))
    return Body("What it costs", finding, Cost(tuple(rest)))
