"""The full edition: where, when and why the fence is weak. For the reader named on it.

A new section is a module in `sections/` with a function `Source -> Body | None`, a template in `templates/`, and a row here.
"""

from __future__ import annotations

from dataclasses import dataclass

from fencecast.report.sections.annexes import site_file_of, stretches_of
from fencecast.report.sections.asbuilt import as_built_of
from fencecast.report.sections.change import change_of
from fencecast.report.sections.cost import cost_of
from fencecast.report.sections.depends import depends_of
from fencecast.report.sections.head import Head, Verdict, head_of, verdict_of
from fencecast.report.sections.limits import glossary_of, limits_section
from fencecast.report.sections.nuisance import nuisance_section
from fencecast.report.sections.plain import Plain, plain_of
from fencecast.report.sections.prove import prove_of
from fencecast.report.sections.proved import proved_of
from fencecast.report.sections.provenance import provenance_of
from fencecast.report.sections.register import register_of
from fencecast.report.sections.review import review_of
from fencecast.report.sections.section import Entry, Section, Source, numbered
from fencecast.report.sections.where import where_of
from fencecast.report.sections.why import why_of
from fencecast.report.sections.year import year_of

MARK = (
    "FULL EDITION · Confidential: shows where, when and why this fence is weak. For the reader named below; not to be passed on, "
    "uploaded or left open."
)
SECTIONS = (
    Entry("where", "where", where_of),
    Entry("why", "why", why_of),
    Entry("change", "change", change_of),
    Entry("cost", "cost", cost_of),
    Entry("year", "year", year_of),
    Entry("nuisance", "nuisance", nuisance_section),
    Entry("depends", "depends", depends_of),
    Entry("prove", "prove", prove_of),
    Entry("proved", "proved", proved_of),
    Entry("as-built", "asbuilt", as_built_of),
    Entry("review", "review", review_of),
    Entry("register", "register", register_of),
    Entry("limits", "limits", limits_section),
    Entry("words", "glossary", glossary_of),
    Entry("provenance", "provenance", provenance_of),
    Entry("stretches", "stretches", stretches_of, annex=True),
    Entry("site-file", "site-file", site_file_of, annex=True),
)


@dataclass(frozen=True)
class FullFacts:
    """All that the full edition's template sees."""

    mark: str
    edition: str
    head: Head
    verdict: Verdict
    plain: Plain
    sections: tuple[Section, ...]


def full_facts(source: Source) -> FullFacts:
    """The facts of the full edition."""
    sections = numbered(SECTIONS, source)
    return FullFacts(
        mark=source.marked(MARK),
        edition="full",
        head=head_of(source.results, source.options),
        verdict=verdict_of(source),
        plain=plain_of(source, {section.key for section in sections}),
        sections=sections,
    )
