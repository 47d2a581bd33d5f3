"""Client edition, nuisance alarms: how many a night and in which weather; no cause by its name, no camera, no place."""

from __future__ import annotations

from dataclasses import dataclass

from fencecast.findings.nuisance import Nuisance, nuisance_of
from fencecast.findings.nuisancewords import (
    MEANING,
    SHORT_BASIS,
    bad_night_words,
    ceiling_words,
    interval_words,
    percent_words,
)
from fencecast.findings.words import confidence_text
from fencecast.report.sections.section import Body, Source


@dataclass(frozen=True)
class NightRow:
    """A weather class, or the year, as printed."""

    name: str
    a_night: str
    bad_night: str


@dataclass(frozen=True)
class ClientNuisance:
    """lines: sentences; caption of the table; rows worst class first, then the year; note: small print."""

    lines: tuple[str, ...]
    caption: str
    rows: tuple[NightRow, ...]
    note: str


def nuisance_section(source: Source) -> Body | None:
    """The section; None where nuisance alarms were not asked for, which the section on what is not said tells."""
    results = source.results
    found = nuisance_of(results)
    if found is None:
        return None
    rows = [NightRow(c.name, interval_words(c.per_night, c.low, c.high), f"{c.bad_night:,}") for c in found.classes]
    if len(rows) > 1:
        rows.append(NightRow("over the year", interval_words(found.per_night, found.low, found.high), f"{found.bad_night:,}"))
    sure = confidence_text(results.confidence)
    ceilings = [ceiling_words(ceiling) for ceiling in found.ceilings] or ["No ceiling is required."]
    facts = ClientNuisance(
        lines=(" ".join(ceilings), f"{MEANING} {SHORT_BASIS}"),
        caption="Nuisance alarms a night by weather class, each as if all of the night were of it",
        rows=tuple(rows),
        note=f"In brackets the {sure} interval. {percent_words(found.none_share)} of nights have no alarm.",
    )
    return Body("Alarms that no intruder raised", client_headline(found), facts)


def client_headline(found: Nuisance) -> str:
    """`Nuisance alarms: 5.1 a night (3.1 to 11); 19 nights in 20 have 15 or fewer.`"""
    mean = interval_words(found.per_night, found.low, found.high, "a night")
    return f"Nuisance alarms: {mean}; {bad_night_words(found.bad_night)}."
