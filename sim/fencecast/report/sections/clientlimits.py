"""Client edition, what the report does not say, and the few words that it uses."""

from __future__ import annotations

from dataclasses import dataclass

from fencecast.findings.limits import limits_of
from fencecast.findings.words import confidence_text, first_upper, interval_text, requirement_text
from fencecast.report.sections.section import Body, Source
from fencecast.report.words import UNSAID, out_of
from fencecast.show.svg.keys import verdict_swatch_svg


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
    return Body("What this report does not say", "", ClientLimits(UNSAID, limits_of(source.results.attrs)))


def words_of(source: Source) -> Body:
    """Pd, interval, the three verdicts, class and place: no code of a place is among them."""
    results = source.results
    need, sure = requirement_text(results.requirement), confidence_text(results.confidence)
    verdicts = {
        "weak": f"The complete interval of a metre lies below {need}.",
        "undecided": f"It lies across {need}: more crossings would tell.",
        "meets": f"It lies above {need}, in this model.",
    }
    terms = [
        ClientTerm(
            "Pd", f"The probability that one crossing of the fence raises an alarm. {need}: {out_of(results.requirement)}.", ""
        ),
        ClientTerm(
            "Interval",
            f"{interval_text(0.53, 0.52, 0.55)}: the simulated number, and the range that holds the model's own number at {sure} "
            "confidence.",
            "",
        ),
        *(ClientTerm(first_upper(w), text, verdict_swatch_svg(w, results.requirement).svg) for w, text in verdicts.items()),
        ClientTerm("Weather class", "One kind of weather with its hours, and everything that varies within it.", ""),
        ClientTerm("Weak place", "Touching metres that are weak, taken together as far as they have one main cause.", ""),
    ]
    return Body("Words used here", "", ClientWords(tuple(terms)))
