"""What would change it: the changes that a search found, another design, and what is lost if something fails."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fencecast.decide.remedyfacts import RemedyFacts, kept_remedy
from fencecast.estimate.intervals import verdicts
from fencecast.estimate.places import verdict_metres
from fencecast.estimate.results import Results
from fencecast.findings.blocks import LEFT, NOTE, RIGHT, Block, Heading, Line, Table
from fencecast.findings.checksentences import with_feet
from fencecast.findings.compare import pair_blocks
from fencecast.findings.comparison import plain_sentence, variant_names
from fencecast.findings.losses import loss_blocks, worst_text
from fencecast.findings.losses import loss_rows as rows_of_losses
from fencecast.findings.remedy import WHAT_TO_CHANGE, kept_steps, remedy_blocks
from fencecast.findings.words import hours_heading, metres_text, whole
from fencecast.report.sections.section import Body, Source


@dataclass(frozen=True)
class Part:
    """One part of the section: its heading, its finding ('' for none) and what stands under it."""

    heading: str
    finding: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True)
class Change:
    parts: tuple[Part, ...]


def change_of(source: Source) -> Body | None:
    """The section; None when no change was looked for, nothing was compared and nothing was taken out."""
    results = source.results
    parts = [*_remedy(results), *_compared(source.comparison), *_losses(results)]
    return Body("What would change it", "", Change(tuple(parts))) if parts else None


def _remedy(results: Results) -> list[Part]:
    remedy, site = kept_remedy(results.attrs), results.site
    if "remedy_found" not in results.attrs:
        steps = kept_steps(results)  # of an older version, which kept these alone
        lines = tuple(Line(_arrows(with_feet(site, text))) for text in steps)
        return [Part(WHAT_TO_CHANGE, "", lines)] if steps else []
    _, *blocks = remedy_blocks(remedy)
    lines = [Line(_arrows(with_feet(site, block.text)), block.role) for block in blocks if isinstance(block, Line)]
    if remedy is None:
        return [Part("Changes that were looked for", lines[0].text, ())]
    first, *rest = lines
    return [Part(WHAT_TO_CHANGE, first.text, (*rest, *_before_after(results, remedy)))]


def _arrows(text: str) -> str:
    return text.replace(" -> ", " → ")


def _before_after(results: Results, remedy: RemedyFacts) -> list[Block]:
    """Metres weak in every class before and after, on the same fresh crossings."""
    if "pd_remedy" not in results:
        return []
    rows = []
    for c in results.worst_first:
        ends = [results.at(f"pd_remedy{end}", remedy=k, weather=c.index) for k in (0, -1) for end in ("_low", "_high")]
        if np.isnan(ends[0]).all():
            continue
        before, after = (
            verdict_metres(verdicts(low, high, results.requirement), results.lengths_m) for low, high in (ends[:2], ends[2:])
        )
        cells = [metres_text(each[word], results.units) for word in ("weak", "undecided") for each in (before, after)]
        rows.append([c.name, whole(c.stated_hours), *cells])
    if not rows:
        return []
    columns = [("class", LEFT), (hours_heading(results.years), RIGHT), ("weak\nbefore", RIGHT), ("weak\nafter", RIGHT)]
    columns += [("undecided\nbefore", RIGHT), ("undecided\nafter", RIGHT)]
    return [
        Heading(f"Metres by weather class before and after {'the change' if len(remedy.steps) == 1 else 'all of them'}"),
        Table.of(columns, rows),
        Line(
            "Before and after are from the same fresh crossings, so that nothing but the changes differs; before may differ from "
            "the main run by chance, within its interval.",
            NOTE,
        ),
    ]


def _compared(comparison: Results | None) -> list[Part]:
    if comparison is None:
        return []
    base, *others = variant_names(comparison)
    parts = []
    for k, name in enumerate(others):
        _, *blocks = pair_blocks(comparison, k)
        parts.append(Part(f"{name} against {base}", plain_sentence(comparison, k), tuple(blocks)))
    return parts


def _losses(results: Results) -> list[Part]:
    blocks = loss_blocks(results)
    if not blocks:
        return []
    finding = worst_text(rows_of_losses(results))
    rest: Sequence[Block] = [block for block in blocks[1:] if not (isinstance(block, Line) and block.text == finding)]
    heading = blocks[0]
    assert isinstance(heading, Heading)
    return [Part("If something fails", finding, (heading, *rest))]
