"""The client edition: an allow-list of plain values. Templates see neither results nor site: what is not named cannot leak.

Each section has facts of its own, made for this edition; none is a full edition's with something taken out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fencecast.cautions import CAUTION
from fencecast.estimate.diagnosis import counted_classes
from fencecast.estimate.results import Results
from fencecast.estimate.weakest import printed_numbers
from fencecast.findings.calibration import calibration_of
from fencecast.findings.provedtest import client_calibrated_lines, client_line
from fencecast.findings.rehearsal import BAR
from fencecast.findings.titles import simulated_metres, verdict_line
from fencecast.findings.words import pd_text
from fencecast.report.sections.client.asbuilt import as_built_of
from fencecast.report.sections.client.change import change_of
from fencecast.report.sections.client.limits import limits_section, words_of
from fencecast.report.sections.client.nuisance import nuisance_section
from fencecast.report.sections.client.plain import ClientPlain, plain_of
from fencecast.report.sections.client.prove import prove_of
from fencecast.report.sections.client.proved import proved_of
from fencecast.report.sections.client.provenance import provenance_of
from fencecast.report.sections.client.register import register_of
from fencecast.report.sections.client.weather import weather_of
from fencecast.report.sections.client.why import why_of
from fencecast.report.sections.client.words import required_line
from fencecast.report.sections.head import Head, Verdict, figures_of, head_of
from fencecast.report.sections.section import Entry, Section, Source, numbered

MARK = (
    "CLIENT EDITION · Confidential: places, cameras and schedules are left out, but it says how much of the fence is weak, "
    "and in which weather."
)
SECTIONS = (
    Entry("weather", "client-weather", weather_of),
    Entry("why", "client-why", why_of),
    Entry("change", "client-change", change_of),
    Entry("nuisance", "client-nuisance", nuisance_section),
    Entry("prove", "client-prove", prove_of),
    Entry("proved", "client-proved", proved_of),
    Entry("as-built", "client-asbuilt", as_built_of),
    Entry("register", "client-register", register_of),
    Entry("limits", "client-limits", limits_section),
    Entry("words", "client-words", words_of),
    Entry("provenance", "client-provenance", provenance_of),
)
TELLS = "the client edition tells where by telling how much"


@dataclass(frozen=True)
class ClientFacts:
    """All that the client edition's template sees."""

    mark: str
    edition: str
    head: Head
    verdict: Verdict
    plain: ClientPlain
    sections: tuple[Section, ...]


def client_facts(source: Source) -> ClientFacts:
    """The facts of the client edition."""
    results = source.results
    sections = numbered(SECTIONS, source)
    return ClientFacts(
        mark=source.marked(MARK),
        edition="client",
        head=head_of(results, source.options),
        verdict=Verdict(_verdict_line(results), _reasons(source), figures_of(results), CAUTION),
        plain=plain_of(source, {section.key for section in sections}),
        sections=sections,
    )


def _reasons(source: Source) -> tuple[str, ...]:
    """What was tested, what is required, what the numbers rest on; without a place."""
    facts, tested = calibration_of(source.results.attrs), client_line(source.proof)
    rests = () if facts is None else client_calibrated_lines(facts)
    return (*([BAR] if source.rehearsal else []), *([tested] if tested else []), required_line(source.results), *rests)


def _verdict_line(results: Results) -> str:
    if simulated_metres(results) <= 0.0:
        return "Nothing was simulated: no rule watches any part of the fence."
    return verdict_line(results)


def always_open(results: Results) -> str:
    """A warning where the lowest Pd of a place is below half of the requirement in every counted class; '' without one.

    Whoever reads of such a site need not wait for any weather. No place is named. Numbers are those that are printed: of fresh
    crossings where there are any.
    """
    counted = counted_classes(results)
    places = [place.segments for place in results.weak_places] or [(segment,) for segment in range(results.sizes["segment"])]
    half, found = 0.5 * results.requirement, []
    for segments in places:
        pd = [[printed_numbers(results, row, segment)[0] for segment in segments] for row in counted]
        known = [[value for value in each if not np.isnan(value)] for each in pd]
        if all(known) and max(map(min, known)) < half:
            found.append([min(each) for each in known])
    if not found:
        return ""
    low, high = (pd_text(end) for end in (min(min(each) for each in found), max(max(each) for each in found)))
    what = "a place is" if len(found) == 1 else "places are"
    mended = "it is mended" if len(found) == 1 else "they are mended"
    numbers = low if low == high else f"{low} to {high}"
    return f"{what} weak in every kind of weather (lowest Pd {numbers}): hand the client edition out after {mended}"


def tells_where(results: Results) -> str:
    """Why leaving out places hides little on this site: one section, or weak (nearly) everywhere; '' where it hides something."""
    if len(results.sections) == 1:
        return f"one section: {TELLS}"
    lengths = results.lengths_m
    verdicts = results.array("verdict", "weather", "segment")[counted_classes(results)]
    weak = float(max(np.sum(lengths[words == "weak"]) for words in verdicts))
    total = simulated_metres(results)
    return f"weak everywhere: {TELLS}" if total > 0.0 and weak >= total - 0.5 else ""
