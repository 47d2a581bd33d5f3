"""What the summary sheet says beside its pictures: the heading of its table and the notes under it; what causes and verdicts
mean in keys."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fencecast.estimate.results import Results
from fencecast.estimate.walktest import walks_needed
from fencecast.estimate.weakest import Place
from fencecast.findings.calibration import calibrated_line, calibration_of
from fencecast.findings.dependence import dependence_sentence, dependences
from fencecast.findings.nuisance import nuisance_of
from fencecast.findings.nuisancewords import NOT_ASKED, short_words
from fencecast.findings.words import confidence_text, number_word, requirement_text

MOST_STOPS = 4  # named on the sheet
PD_MEANS = "Pd, here the probability of an alarm after confirmation"

CAUSE_MEANINGS = {
    "no rule there": "no rule is armed on the way, or none that hears the camera that sees it: change the rule, at no cost",
    "not in view": "outside the field, in the blind ground (the dead zone under a camera), or hidden: move or add a camera",
    "too small": "too few pixels even at full contrast: longer lens or nearer camera",
    "too brief": "enough pixels, but for too few looks even at full contrast: wider view or more looks",
    "washed out": "would alarm at full contrast: nearer camera, or other measures on such nights",
    "not accepted": "would alarm, but the size gate leaves it out: wider gate, at the price of more nuisance alarms",
}


def verdict_meanings(requirement: float) -> dict[str, str]:
    """What each verdict means, for keys and tables."""
    need = requirement_text(requirement)
    return {
        "weak": f"full interval below {need}",
        "undecided": f"interval across {need}",
        "meets": f"full interval above {need}",
        "no data": "not armed or not simulated",
    }


def table_heading(places: Sequence[Place]) -> str:
    """`Why: the five weakest places`, or what stands in for them."""
    count = number_word(len(places))
    weak = bool(places and places[0].weak_in)
    if weak and len(places) == 1:
        return "Why: the one weak place"
    if weak:
        return f"Why: the {count} {'weak' if len(places) < 5 else 'weakest'} places"
    return f"The {f'{count} lowest places' if len(places) > 1 else 'lowest place'} (none is weak)"


def review_box(results: Results) -> tuple[str, tuple[str, ...]] | None:
    """Heading and lines of the design review that the results carry, its stops by kind; None without a review."""
    line = str(results.attrs.get("design_review", ""))
    if not line:
        return None
    counts, _, command = line.partition("; ")
    stops = [stop for stop in str(results.attrs.get("design_review_stops", "")).split("; ") if stop]
    lines = [f"stop: {stop}" for stop in stops[:MOST_STOPS]]
    if len(stops) > MOST_STOPS:
        lines.append(f"and {len(stops) - MOST_STOPS} more: {command}")
    return f"{counts}, without simulation", tuple(lines or [f"No stop. Its other findings: {command}"])


def sheet_notes(results: Results) -> list[str]:
    """The notes under the table: meanings, walk test, noise, sensitivities, what is not modelled (the last one)."""
    results = Results.of(results)
    need, confidence = results.requirement, results.confidence
    percent = confidence_text(confidence)
    first, second, third = (f"{walks_needed(need, confidence, misses):,}" for misses in (0, 1, 2))
    texts = [
        f"Meets, undecided, weak: the full {percent} interval lies above, across or below the requirement. "
        "A place is entered once, in the mildest class in which it is weak.",
        f"A walk test could show {requirement_text(need)} at {percent} with {first} walks without a miss, {second} with one, "
        f"{third} with two (exact binomial).",
    ]
    facts = calibration_of(results.attrs)
    if facts is not None:
        texts[0] += (
            f" {calibrated_line(facts)} Intervals hold what these walks left open; every segment has the band of one not walked."
        )
    if "noise_alarms_per_day" in results:
        rates = results.array("noise_alarms_per_day", "camera")
        largest = int(np.nanargmax(rates))
        mark, most = results.marks[largest], float(rates[largest])
        rate = f"at most {small_number(most)} ({mark})" if most >= 0.001 else "below 0.001 for every camera"
        counted = nuisance_of(results)
        said = NOT_ASKED if counted is None else short_words(counted)
        texts[1] += f" False alarms from sensor noise alone, per camera and day: {rate}. {said}"
    found = dependences(results) if "dpd_dln_clutter" in results else []
    if found:
        texts.append(dependence_sentence(found, closing=False))
    limits = [line.strip().rstrip(".") for line in str(results.attrs["not_modelled"]).split("\n") if line.strip()]
    texts.append("Not modelled or uncertain: " + "; ".join(limit[:1].lower() + limit[1:] for limit in limits) + ".")
    return texts


_SUPERSCRIPT = str.maketrans("0123456789-", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻")


def small_number(value: float) -> str:
    """A rate that may be tiny: '0', '0.3', '12', '3 × 10⁻⁷'."""
    if value == 0.0:
        return "0"
    if value >= 0.001:
        return f"{value:.2g}" if value < 100 else f"{value:,.0f}"
    digits, power = f"{value:.0e}".split("e")
    return f"{digits} × 10{str(int(power)).translate(_SUPERSCRIPT)}"
