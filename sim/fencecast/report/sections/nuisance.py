"""Nuisance alarms: how many a night, of what, in which weather, by which camera, against which ceiling, and what it rests on."""

from __future__ import annotations

from dataclasses import dataclass

from fencecast.findings.blocks import Block
from fencecast.findings.nuisance import nuisance_of
from fencecast.findings.nuisancetables import nuisance_blocks
from fencecast.findings.nuisancewords import MEANING, basis_words, ceilings_words, headline, true_words, year_words
from fencecast.report.sections.section import Body, Source
from fencecast.show.svg.nuisance import nuisance_svg


@dataclass(frozen=True)
class NuisanceAlarms:
    """lines: sentences; caption and figure (SVG); blocks: the tables with what they mean."""

    lines: tuple[str, ...]
    caption: str
    figure: str
    blocks: tuple[Block, ...]


def nuisance_section(source: Source) -> Body | None:
    """The section; None where nuisance alarms were not asked for, which the section on what is not said tells."""
    results = source.results
    found = nuisance_of(results)
    if found is None:
        return None
    figure, a_year = nuisance_svg(results), year_words(found)
    facts = NuisanceAlarms(
        lines=(*([a_year] if a_year else []), *ceilings_words(found), true_words(found), f"{MEANING} {basis_words(found)}"),
        caption=f"{figure.subtitle}.",
        figure=figure.svg,
        blocks=tuple(nuisance_blocks(results)),
    )
    return Body("Nuisance alarms", headline(found), facts)
