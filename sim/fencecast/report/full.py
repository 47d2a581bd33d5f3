"""The full edition: where, when and why the fence is weak. For the reader named on it.

A new section is a module in `sections/` with a function `Source -> Body | None`, a template in `templates/`, and a row here.
"""

from __future__ import annotations

from dataclasses import dataclass

from fencecast.report.sections.head import Head, Verdict, head_of, verdict_of
from fencecast.report.sections.provenance import provenance_of
from fencecast.report.sections.section import Entry, Section, Source, numbered
from fencecast.report.sections.where import where_of

MARK = (
    "FULL EDITION · Confidential: shows where, when and why this fence is weak. For the reader named below; not to be passed on, "
    "uploaded or left open."
)
SECTIONS = (
    Entry("where", "where", where_of),
    Entry("provenance", "provenance", provenance_of),
)


@dataclass(frozen=True)
class FullFacts:
    """All that the full edition's template sees."""

    mark: str
    edition: str
    head: Head
    verdict: Verdict
    sections: tuple[Section, ...]


def full_facts(source: Source) -> FullFacts:
    """The facts of the full edition."""
    return FullFacts(
        mark=source.options.mark or MARK,
        edition="full",
        head=head_of(source.results, source.options),
        verdict=verdict_of(source.results),
        sections=numbered(SECTIONS, source),
    )
