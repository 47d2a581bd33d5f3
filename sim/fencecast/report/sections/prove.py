"""How to prove it on the finished site: how many walks show the requirement, and what they do not show."""

from __future__ import annotations

from dataclasses import dataclass

from fencecast.findings.nuisance import nuisance_asked
from fencecast.findings.run import noise_sentence
from fencecast.report.sections.section import Body, Source
from fencecast.report.shared import learnt, walks_finding, walks_lines


@dataclass(frozen=True)
class Prove:
    """Paragraphs."""

    lines: tuple[str, ...]


def prove_of(source: Source) -> Body:
    """Exact numbers of walks for the requirement, and how often a good fence fails such a test."""
    results = source.results
    lines = walks_lines(results.requirement, results.confidence)
    if "noise_alarms_per_day" in results:
        lines += (f"{noise_sentence(results)} {learnt(nuisance_asked(results.attrs))}",)
    finding = walks_finding(results.requirement, results.confidence)
    return Body("How to prove it on the finished site", finding, Prove(lines))
