"""Titles as findings: one sentence made from the numbers for each picture, also in the special cases."""

from __future__ import annotations

import numpy as np

from fencecast.estimate.diagnosis import counted_classes, diagnose, widespread_classes
from fencecast.estimate.places import classes_in_all, record_years, worst_first
from fencecast.estimate.results import Results
from fencecast.estimate.weakest import everywhere_weak, lowest_places, sampling_half, weak_places
from fencecast.findings.words import (
    confidence_text,
    first_upper,
    in_class,
    interval_text,
    metres_text,
    number_word,
    plural,
    requirement_text,
    share_text,
)
from fencecast.meteorology.year import LEAST_YEARS


def undecided_metres(results: Results) -> float:
    """Metres that are undecided in some counted class and weak in none."""
    verdicts = results.array("verdict", "weather", "segment")[counted_classes(results)]
    open_ones = (verdicts == "undecided").any(axis=0) & ~(verdicts == "weak").any(axis=0)
    return float(np.sum(results.lengths_m[open_ones]))


def simulated_metres(results: Results) -> float:
    """Metres of fence with a Pd in at least one class."""
    results = Results.of(results)
    return float(np.sum(results.lengths_m[~np.all(np.isnan(results["pd"].values), axis=0)]))


def chosen_sentence(results: Results) -> str:
    """`Only heavy rain was run, of 6 classes: the year here is weighted over this one alone.`; '' when all classes were run."""
    results = Results.of(results)
    run, known = results.sizes["weather"], classes_in_all(results)
    if run >= known:
        return ""
    were, these = ("was", "this one") if run == 1 else ("were", "these")
    return f"Only {', '.join(results.classes)} {were} run, of {known} classes: the year here is weighted over {these} alone."


def year_name(results: Results) -> str:
    """What the last row is: the year (or a record much shorter than one), or only the classes or hours that were run."""
    if results.attrs.get("stress"):
        return "stress hours"
    if results.sizes["weather"] < classes_in_all(results):
        return "these classes"
    return "year" if record_years(results) >= LEAST_YEARS else "full record"


def over_year(results: Results) -> str:
    """`over the year`, `over the full record`; of less than that `over these classes`, `over these stress hours`."""
    name = year_name(results)
    return {"stress hours": "over these stress hours", "these classes": "over these classes"}.get(name, f"over the {name}")


def all_classes(count: int) -> str:
    """'all six weather classes', 'both weather classes', 'the one weather class'."""
    if count == 1:
        return "the one weather class"
    return "both weather classes" if count == 2 else f"all {number_word(count)} weather classes"


def nothing_weak(results: Results) -> str:
    """The sentence for a fence without weak metres in classes that have hours."""
    results = Results.of(results)
    counted = set(counted_classes(results))
    classes = [c for c in worst_first(results) if c.index in counted]
    undecided = [c for c in classes if c.undecided_m > 0]
    if not undecided:
        return f"Every metre simulated meets the requirement in this model, in {all_classes(len(classes))}."
    most = max(undecided, key=lambda c: c.undecided_m)
    units = results.units
    return f"No metre is weak; {_of_all(most.undecided_m, simulated_metres(results), units)} undecided {in_class(most.name)}."


def plan_title(results: Results) -> str:
    """`Warm dusk is worst: 142 m of 396 m weak; advection fog next, 86 m`."""
    results = Results.of(results)
    units = results.units
    counted = set(counted_classes(results))
    classes = [c for c in worst_first(results) if c.index in counted]
    if not any(c.weak_m > 0 for c in classes):
        return nothing_weak(results)
    worst = classes[0]
    title = f"{first_upper(worst.name)} is worst: {_of_all(worst.weak_m, simulated_metres(results), units)} weak"
    if len(classes) > 1:
        second = classes[1]
        rest = metres_text(second.weak_m, units) if second.weak_m > 0 else "nothing weak"
        title += f"; {second.name} next, {rest}"
    return title


def _of_all(part: float, total: float, units: str) -> str:
    if abs(part - total) < 0.5:
        return f"all {metres_text(total, units)}"
    return f"{metres_text(part, units)} of {metres_text(total, units)}"


def widespread_words(results: Results) -> str:
    """`Dense fog: 300 m of 396 m weak`, for the classes that are weak over more than half of the fence; '' when none is."""
    results = Results.of(results)
    widespread = set(widespread_classes(results))
    classes = [c for c in worst_first(results) if c.index in widespread]
    total, units = simulated_metres(results), results.units
    parts = [f"{c.name}: {_of_all(c.weak_m, total, units)} weak" for c in classes[:2]]
    if len(classes) > 2:
        parts.append(f"{number_word(len(classes) - 2)} more weak over more than half")
    return first_upper("; ".join(parts))


def strip_title(results: Results) -> str:
    """`Eight places are weak, one of them (B 58–68 m) in all six weather classes`."""
    results = Results.of(results)
    counted = counted_classes(results)
    if not (results["verdict"].values[counted] == "weak").any():
        return nothing_weak(results)
    places = weak_places(results)
    apart = widespread_words(results)
    if not places:
        return apart
    start = f"{first_upper(plural(len(places), 'place'))} {'is' if len(places) == 1 else 'are'} weak"
    always = [place for place in places if everywhere_weak(results, place)]
    if len(counted) == 1:
        text = f"{start}, the weakest at {places[0].code}" if len(places) > 1 else f"{start}: {places[0].code}"
    elif len(always) == 1 and len(places) == 1:
        text = f"{start} ({places[0].code}), in {all_classes(len(counted))}"
    elif len(always) == len(places):
        text = f"{start}, {'both' if len(places) == 2 else 'all'} of them in {all_classes(len(counted))}"
    elif len(always) == 1:
        text = f"{start}, one of them ({always[0].code}) in {all_classes(len(counted))}"
    elif always:
        text = f"{start}, {number_word(len(always))} of them in {all_classes(len(counted))}"
    else:
        first = places[0]
        text = f"{start}, the weakest ({first.code}) in {number_word(len(first.weak_in))} of {number_word(len(counted))} classes"
    wide = len(set(widespread_classes(results)))
    if not wide:
        return text
    if wide >= len(counted):
        return apart
    if wide > 1:  # a title has two lines: the table beside it names them
        apart = f"{first_upper(number_word(wide))} classes are weak over more than half of the fence"
    return f"{apart}. Apart from that, {text[0].lower() + text[1:]}"


def verdict_line(results: Results) -> str:
    """The sheet's verdict: `Requirement not met: 142 m of 396 m weak in warm dusk, the worst class.`"""
    results = Results.of(results)
    counted = set(counted_classes(results))
    classes = [c for c in worst_first(results) if c.index in counted]
    worst = classes[0]
    if worst.weak_m <= 0.0:
        return nothing_weak(results)
    weak = _of_all(worst.weak_m, simulated_metres(results), results.units)
    which = "the worst class" if len(classes) > 1 else "the one class"
    return f"Requirement not met: {weak} weak {in_class(worst.name)}, {which}."


def reason_lines(results: Results) -> list[str]:
    """The lines under the verdict: what is required, how much is weak, and which place is the weakest."""
    results = Results.of(results)
    counted = counted_classes(results)
    need = f"{requirement_text(results.requirement)} at {confidence_text(results.confidence)} confidence"
    classes = [c for c in worst_first(results) if c.index in set(counted)]
    weak_classes = [c for c in classes if c.weak_m > 0]
    places = weak_places(results)
    units = results.units
    first = f"Required: Pd {need}, everywhere, in every class."
    of = f"of {plural(len(classes), 'class', 'classes')}"
    if weak_classes:
        every = len(classes) > 1 and len(weak_classes) == len(counted)
        where = all_classes(len(classes)) if every else f"{number_word(len(weak_classes))} {of}"
        first += f" Weak metres in {where if len(classes) > 1 else classes[0].name}"
        first += f"; {plural(len(places), 'place')} in all." if places else "."
    missing = float(np.sum(results.lengths_m)) - simulated_metres(results)
    if missing > 0.5:
        first += f" {metres_text(missing, units)} have no data."
    lines = [first]
    aside = diagnose(results).apart
    if aside and places:
        apart = widespread_words(results)
        them, they = ("it", "it") if len(aside) == 1 else ("them", "they")
        lines.append(f"{apart}; places are marked off without {them}, as {they} would swallow them all.")
    lowest = (places or lowest_places(results, 1))[:1]
    for place in lowest:
        text = f"{'Weakest' if place.weak_in else 'Lowest'}: {place.code}, Pd {interval_text(place.pd, place.low, place.high)}"
        text += f" {in_class(place.weather)}"
        if place.cause:
            text += f", {'mostly' if place.cause_share > 0.5 else 'most often'} {place.cause}"
        if place.weak_in and len(classes) > 1:
            text += f"; weak in {number_word(len(place.weak_in))} {of}"
        if place.fresh:
            text += " (fresh crossings)"
        lines.append(text + ".")
    return lines


def class_cause(results: Results, index: int) -> tuple[str | None, float]:
    """The leading cause of all misses of a class and its share of them; None when nothing was missed.

    Weighted by length; segments without data are left out.
    """
    results = Results.of(results)
    lengths = results.lengths_m
    shares = np.nansum(results.array("miss_share", "cause", "weather", "segment")[:, index] * lengths, axis=1)
    # Where a Pd of 1 lies within the interval there may be no misses at all.
    if not (1.0 - results.at("pd", weather=index) > sampling_half(results)[index]).any() or shares.sum() <= 0.0:
        return None, 0.0
    largest = int(np.argmax(shares))
    return str(results.at("cause", cause=largest)), float(shares[largest] / shares.sum())


def cause_title(results: Results) -> str:
    """`Heavy rain: 58 % of misses washed out; B 58–68 m is weak in clear night already: not in view`."""
    results = Results.of(results)
    counted = set(counted_classes(results))
    worst = next(c for c in worst_first(results) if c.index in counted)
    cause, share = class_cause(results, worst.index)
    if cause is None:
        return f"{first_upper(worst.name)}: misses are too few to name a cause"
    start = f"{first_upper(worst.name)}: {share_text(share)} {cause}"
    places = weak_places(results)
    if not places:
        return start
    place = places[0]
    if place.cause is None:
        return start
    if place.weather_index == worst.index:
        return f"{start}; at {place.code} {'also ' if place.cause == cause else ''}mainly {place.cause}"
    already = f"{start}; {place.code} is weak {in_class(place.weather)} already"
    return already + (", for the same cause" if place.cause == cause else f": {place.cause}")
