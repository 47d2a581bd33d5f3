"""The client edition: an allow-list of plain values. Templates see neither results nor site: what is not named cannot leak."""

from __future__ import annotations

from dataclasses import dataclass

from fencecast.cautions import CAUTION
from fencecast.findings.titles import reason_lines, verdict_line
from fencecast.report.sections.head import Head, Verdict, figures_of, head_of
from fencecast.report.sections.section import Entry, Section, Source, numbered

MARK = (
    "CLIENT EDITION · Confidential: places, cameras and times of day are left out, but it says how much of the fence is weak, "
    "and in which weather."
)
SECTIONS: tuple[Entry, ...] = ()


@dataclass(frozen=True)
class ClientFacts:
    """All that the client edition's template sees."""

    mark: str
    edition: str
    head: Head
    verdict: Verdict
    sections: tuple[Section, ...]


def client_facts(source: Source) -> ClientFacts:
    """The facts of the client edition; of the reasons only the first line, which names no place."""
    results = source.results
    return ClientFacts(
        mark=source.options.mark or MARK,
        edition="client",
        head=head_of(results, source.options),
        verdict=Verdict(verdict_line(results), tuple(reason_lines(results)[:1]), figures_of(results), CAUTION),
        sections=numbered(SECTIONS, source),
    )
