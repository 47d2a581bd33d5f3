"""Sentences of the client edition: each is made from counts, metres and names of weather classes, never from one that names more.

Nothing here may take a place, a camera, a section or a time of day as an argument; so nothing has to be taken out again.
"""

from __future__ import annotations

import string
from collections import Counter
from collections.abc import Sequence

import numpy as np

from fencecast.estimate.diagnosis import counted_classes
from fencecast.estimate.places import classes_in_all
from fencecast.estimate.results import Results
from fencecast.estimate.weakest import printed_numbers
from fencecast.findings.runfacts import lowest_segment
from fencecast.findings.titles import all_classes, simulated_metres
from fencecast.findings.words import confidence_text, first_upper, metres_text, number_word, plural, requirement_text
from fencecast.report.shared import many_in_100, meets_lines, open_words
from fencecast.report.words import kinds_of_weather, out_of

# What a change is, without where: one and several, by the kinds of `decide.remedyfacts`.
CHANGES = {
    "rule": ("one rule changed", "rules changed"),
    "turned": ("one camera turned", "cameras turned"),
    "lens": ("another lens on one camera", "cameras with another lens"),
    "height": ("one camera at another height", "cameras at another height"),
    "new": ("one camera more", "cameras more"),
}
ANY_CHANGE = ("one change", "changes")
ELSEWHERE = "Where they are is told in the full edition only."


def weak_rows(results: Results) -> list[int]:
    """Indexes of the counted classes in which some metre is weak."""
    weak = (results.array("verdict", "weather", "segment") == "weak").any(axis=1)
    return [row for row in counted_classes(results) if weak[row]]


def required_line(results: Results) -> str:
    """`Required: Pd 0.90 at 95 % confidence, everywhere, in every class. Weak metres in all six weather classes; four places.`"""
    counted, weak = counted_classes(results), weak_rows(results)
    need = f"{requirement_text(results.requirement)} at {confidence_text(results.confidence)} confidence"
    line = f"Required: Pd {need}, everywhere, in every class."
    if weak:
        every = len(weak) == len(counted)
        of = f"{number_word(len(weak))} of {plural(len(counted), 'class', 'classes')}"
        places = len(results.weak_places)
        line += f" Weak metres in {all_classes(len(counted)) if every else of}"
        line += f"; {plural(places, 'place')} in all." if places else "."
    missing = float(np.sum(results.lengths_m)) - simulated_metres(results)
    return line + (f" {metres_text(missing, results.units)} have no data." if missing > 0.5 else "")


def plain_lines(results: Results) -> list[str]:
    """The verdict for a reader who knows no statistics."""
    total, units = simulated_metres(results), results.units
    if total <= 0.0:
        return ["Nothing was simulated: no rule watches any part of the fence, so nothing raises an alarm."]
    counted, weak, need = counted_classes(results), weak_rows(results), out_of(results.requirement)
    verdicts = results.array("verdict", "weather", "segment")[counted]
    place = f"there is a place where fewer than {need} crossings raise an alarm."
    if len(weak) == len(counted):
        lines = [f"In {kinds_of_weather(len(counted))} {place} An intruder may know the place and choose the time."]
    elif weak:
        of = f"In {number_word(len(weak))} of {number_word(len(counted))} kinds of weather"
        lines = [f"{of} {place} An intruder may know the place and wait for the weather."]
    elif (verdicts == "undecided").any():
        lines = [
            f"In this model no place is shown to stay below {need} crossings, but on some metres "
            f"{open_words('calibration' in results.attrs)}."
        ]
    else:
        lines = [
            f"In this model at least {need} crossings raise an alarm on every metre simulated, in "
            f"{kinds_of_weather(len(counted))}."
        ]
    lines += _weakest_lines(results, weak)
    meets = float(np.sum(results.lengths_m[(verdicts == "meets").all(axis=0)]))
    lines += meets_lines(meets, total, len(counted), units)
    places = len(results.weak_places)
    if places:
        there = f"There {'is' if places == 1 else 'are'} {plural(places, 'weak place')}."
        lines.append(f"{there} {ELSEWHERE if places > 1 else ELSEWHERE.replace('they are', 'it is', 1)}")
    return lines


def _weakest_lines(results: Results, weak: Sequence[int]) -> list[str]:
    """`At the weakest metre about 18 to 22 in 100 crossings raise an alarm (7 to 43 in 100).` of the classes with weak metres."""
    lowest = [(row, lowest_segment(results, row)) for row in weak]
    numbers = [printed_numbers(results, row, segment)[:3] for row, segment in lowest if segment is not None]
    if not numbers:
        return []
    low, high = min(each[1] for each in numbers), max(each[2] for each in numbers)
    ends = [round(100.0 * end) for end in (low, high)]
    between = f" ({ends[0]} to {ends[1]} in 100)" if ends[1] > ends[0] else ""
    many = many_in_100([each[0] for each in numbers])
    return [f"At the weakest metre {many} crossings raise an alarm{between}."]


def condition_lines(results: Results) -> list[str]:
    """What numbers are about when not the complete site and year, without what would name hours, or cameras."""
    lines = []
    if str(results.attrs.get("stress", "")).strip():
        lines.append("Only the hours that meet one condition were simulated, not all armed hours; the full edition names it.")
    run, known = results.sizes["weather"], classes_in_all(results)
    if run < known:
        one = run == 1
        lines.append(
            f"Only {number_word(run)} of {number_word(known)} weather classes {'was' if one else 'were'} run: the year here is "
            f"weighted over {'this one' if one else 'these'} alone."
        )
    if str(results.attrs.get("without", "")).strip():
        lines.append("Run as if part of the equipment had failed; the full edition says which.")
    return lines


def letters_of(count: int) -> list[str]:
    """Names for designs that are not named: A to Z, then AA, AB and so on."""
    single = list(string.ascii_uppercase)
    return [*single, *(first + second for first in single for second in single)][:count]


def change_words(kinds: Sequence[str]) -> str:
    """`One camera turned, one camera more`; `Four rules changed, three cameras turned`: kinds in order of their first step."""
    counts = Counter(kinds)
    words = []
    for kind, count in counts.items():
        one, many = CHANGES.get(kind, ANY_CHANGE)
        words.append(one if count == 1 else f"{number_word(count)} {many}")
    return first_upper(", ".join(words))
