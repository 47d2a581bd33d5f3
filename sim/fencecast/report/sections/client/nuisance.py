"""Client edition, nuisance alarms: how many a night and in which weather; no cause by its name, no camera, no place."""

from __future__ import annotations

from dataclasses import dataclass

from fencecast.findings.nuisance import Nuisance, nuisance_of
from fencecast.findings.nuisancewords import (
    MEANING,
    bad_interval_words,
    bad_night_words,
    basis_words,
    ceilings_words,
    interval_words,
    none_words,
    year_words,
)
from fencecast.findings.words import confidence_text, first_upper
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
        rows.append(NightRow("over the year", interval_words(found.per_night, found.low, found.high), bad_interval_words(found)))
    sure = confidence_text(results.confidence)
    ceilings = ceilings_words(found) or ["No ceiling is required."]
    a_year, none = year_words(found), none_words(found.none_share)
    none = f" {first_upper(none)}." if none else ""
    facts = ClientNuisance(
        lines=(*([a_year] if a_year else []), " ".join(ceilings), f"{MEANING} {basis_words(found, names=False)}"),
        caption="Nuisance alarms a night by weather class, each as if all of the night were of it",
        rows=tuple(rows),
        note=f"19 in 20 at most: 19 nights in 20 have this many or fewer. In brackets the {sure} interval.{none}",
    )
    return Body("Alarms that no intruder raised", client_headline(found), facts)


def client_headline(found: Nuisance) -> str:
    """`Nuisance alarms: 5.1 a night (3.1 to 11); 19 nights in 20 have 15 (9 to 32) or fewer.`"""
    mean = interval_words(found.per_night, found.low, found.high, "a night")
    return f"Nuisance alarms: {mean}; {bad_night_words(found.bad_night, found.bad_low, found.bad_high)}."
