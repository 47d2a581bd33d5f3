"""Client edition, what the report does not say, and the few words that it uses."""

from __future__ import annotations

import re
from dataclasses import dataclass

from fencecast.findings.limits import limits_of
from fencecast.findings.nuisance import nuisance_asked
from fencecast.findings.nuisancewords import MEANING
from fencecast.findings.words import first_upper
from fencecast.report.sections.section import Body, Source
from fencecast.report.shared import WEATHER_CLASS, interval_meaning, pd_meaning, verdict_meanings
from fencecast.report.words import out_of, unsaid
from fencecast.show.svg.keys import verdict_swatch_svg

_KEYS = re.compile(r" \((confused|shape_cycles)\)")  # of the site file, which this reader does not have


@dataclass(frozen=True)
class ClientLimits:
    """points: bold words and what follows; not_modelled: a sentence each."""

    points: tuple[tuple[str, str], ...]
    not_modelled: tuple[str, ...]


@dataclass(frozen=True)
class ClientTerm:
    """A word, what it means, and its swatch as SVG ('' for none)."""

    word: str
    meaning: str
    swatch: str


@dataclass(frozen=True)
class ClientWords:
    """The words of this edition."""

    terms: tuple[ClientTerm, ...]


def limits_section(source: Source) -> Body:
    """What is left unsaid, and what the model leaves out."""
    attrs = source.results.attrs
    limits = tuple(_KEYS.sub("", line) for line in limits_of(attrs))
    return Body("What this report does not say", "", ClientLimits(unsaid(nuisance_asked(attrs), "calibration" in attrs), limits))


def words_of(source: Source) -> Body:
    """Pd, interval, the three verdicts, class and place: no code of a place is among them."""
    results = source.results
    need, asked = results.requirement, nuisance_asked(results.attrs)
    verdicts = verdict_meanings(need, asked, "calibration" in results.attrs)
    terms = [
        ClientTerm("Pd", pd_meaning(need, out_of(need)), ""),
        ClientTerm("Interval", interval_meaning(results.confidence, asked, "calibration" in results.attrs), ""),
        *(ClientTerm(first_upper(w), text, verdict_swatch_svg(w, need).svg) for w, text in verdicts.items()),
        ClientTerm("Weather class", WEATHER_CLASS, ""),
        ClientTerm("Weak place", "Touching metres that are weak, taken together as far as they have one main cause.", ""),
    ]
    if asked:
        terms.append(ClientTerm("Nuisance alarm", MEANING, ""))
    return Body("Words used here", "", ClientWords(tuple(terms)))
