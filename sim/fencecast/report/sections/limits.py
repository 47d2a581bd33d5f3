"""What the report does not say, and what its words mean."""

from __future__ import annotations

from dataclasses import dataclass

from fencecast.findings.calibration import WALKED_WORDS, calibration_of
from fencecast.findings.limits import limits_of
from fencecast.findings.nuisance import nuisance_asked
from fencecast.findings.nuisancewords import MEANING
from fencecast.findings.words import first_upper
from fencecast.report.sections.section import Body, Source
from fencecast.report.shared import WEATHER_CLASS, interval_meaning, pd_meaning, verdict_meanings
from fencecast.report.words import cause_meaning, out_of, unsaid
from fencecast.show.svg.keys import cause_swatch_svg, verdict_swatch_svg


@dataclass(frozen=True)
class Limits:
    """points: bold words and what follows; not_modelled: a sentence each."""

    points: tuple[tuple[str, str], ...]
    not_modelled: tuple[str, ...]


@dataclass(frozen=True)
class Term:
    """A word, its meaning, and its swatch ('' for none)."""

    word: str
    meaning: str
    swatch: str


@dataclass(frozen=True)
class Glossary:
    terms: tuple[Term, ...]


def limits_section(source: Source) -> Body:
    """Seven things left unsaid, and what the model leaves out."""
    attrs = source.results.attrs
    return Body(
        "What this report does not say", "", Limits(unsaid(nuisance_asked(attrs), "calibration" in attrs), limits_of(attrs))
    )


def glossary_of(source: Source) -> Body:
    """The words of the report."""
    results = source.results
    terms = [
        ("Pd", pd_meaning(results.requirement, out_of(results.requirement))),
        ("Interval", interval_meaning(results.confidence, nuisance_asked(results.attrs), "calibration" in results.attrs)),
        ("Weather class", WEATHER_CLASS),
        (
            "Place code",
            "B 58–68 m: section B of the fence, metres along it in the order in which it is walked. B 108 m to C 2 m runs "
            "across a corner.",
        ),
        (
            "Place",
            "Touching metres that are weak, cut where the cause of the misses changes; entered once, in the mildest class in "
            "which it is weak.",
        ),
        (
            "Fresh crossings",
            "The lowest of many estimates is too low by selection, so the lowest places are run again on new crossings.",
        ),
        ("Best camera here", "The camera whose Pd alone is the highest at that place."),
    ]
    found = [Term(word, meaning, "") for word, meaning in terms]
    verdicts = verdict_meanings(results.requirement, nuisance_asked(results.attrs), "calibration" in results.attrs)
    found[2:2] = [
        Term(first_upper(word), text, verdict_swatch_svg(word, results.requirement).svg) for word, text in verdicts.items()
    ]
    if nuisance_asked(results.attrs):
        found.append(Term("Nuisance alarm", MEANING, ""))
    if calibration_of(results.attrs) is not None:
        found += [Term(word, meaning, "") for word, meaning in WALKED_WORDS]
    causes = [str(name) for name in results["cause"].values]
    found += [Term(first_upper(name), f"{first_upper(cause_meaning(name))}.", cause_swatch_svg(name).svg) for name in causes]
    return Body("Words used here", "", Glossary(tuple(found)))
