"""Sentences that only the report says: in plain words, what usually helps, what is left unsaid, and what its words mean."""

from __future__ import annotations

import numpy as np

from fencecast.estimate.diagnosis import counted_classes
from fencecast.estimate.results import Results
from fencecast.estimate.weakest import Place, printed_numbers
from fencecast.findings.condition import stress_sentence
from fencecast.findings.installations import built_lines
from fencecast.findings.nuisance import nuisance_of
from fencecast.findings.nuisancewords import ceilings_words, headline
from fencecast.findings.readings import short_reading
from fencecast.findings.sheetwords import CAUSE_MEANINGS
from fencecast.findings.titles import chosen_sentence, simulated_metres, strip_title
from fencecast.findings.words import first_upper, in_class, listed, metres_text, number_word
from fencecast.report.shared import many_in_100, meets_lines, open_words

# What usually helps against each cause; a change that was computed is printed before it.
HELPS = {
    "no rule there": "a rule there, or one that hears the camera that has the place in view; both cost nothing but typing",
    "not in view": "a camera that looks at this ground from elsewhere",
    "too small": "a longer lens or a nearer camera",
    "too brief": "a view in which people stay longer, or more looks a second",
    "washed out": "a nearer camera, or other measures on such nights",
    "not accepted": "a wider size gate, at the price of more nuisance alarms",
}

FOR_NOTHING = (
    "How often it alarms for nothing.",
    "Nuisance alarms were not asked for: animals, birds, insects, branches, loose sheeting in the wind, passers-by and vehicles "
    "are not simulated, and a number of false alarms, where one stands, is noise of the sensor alone.",
)
_COUNTED_FOR_NOTHING = (
    "How often it will alarm for nothing.",
    "Nuisance alarms are counted from rates that are judgement where no log of alarms on site is in the site file, and only of "
    "what the site file names: nothing else that moves is in the number.",
)
_MODEL_IS_RIGHT = (
    "That the model is right.",
    "The intervals say how far the simulated crossings may be off by chance, not how far the model may be.",
)
_WALKS_TOO = " They hold what walks on site left open of N50, too."
_RATES_TOO = " Those of nuisance alarms say what their rates may be off by, too."
UNSAID = (
    ("That an alarm is answered.",
     "Pd ends when the alarm is raised: whether it is passed on, believed and met in time is outside it."),
    _MODEL_IS_RIGHT,
    ("Who is there.", "Nothing here is about faces, number plates or telling people apart."),
    FOR_NOTHING,
    ("What becomes of it.",
     "Growth, stacks and vehicles in the view, dirt, salt and webs on the window, a knocked bracket, a changed setting: each "
     "makes the numbers void until it is put right or run again."),
    ("Anything about people's safety.", "Not fire, drowning, machines, lone workers or collisions."),
    ("Compliance.",
     "With no standard, law, licence, insurance condition or consent. Thermal pictures of people can be personal data: views of "
     "neighbours' ground need masking and a lawful basis."),
)  # fmt: skip


def unsaid(nuisance: bool, calibrated: bool = False) -> tuple[tuple[str, str], ...]:
    """What the report leaves unsaid, bold words and what follows; nuisance: whether the results count nuisance alarms;
    calibrated: N50 is from walks."""
    said, text = _MODEL_IS_RIGHT
    text += _WALKS_TOO if calibrated else ""
    changed = {_MODEL_IS_RIGHT: (said, text + (_RATES_TOO if nuisance else ""))}
    if nuisance:
        changed[FOR_NOTHING] = _COUNTED_FOR_NOTHING
    return tuple(changed.get(point, point) for point in UNSAID)


def pd_and_verdicts(nuisance: bool, calibrated: bool = False) -> str:
    """Pd, weak and undecided at their first use; nuisance: whether the results count nuisance alarms; calibrated: N50 is from
    walks."""
    open_too = (" and what walks left open" if calibrated else "") + (
        ", or, of a ceiling, with what is known of rates" if nuisance else ""
    )
    return (
        "Pd: the probability that one crossing raises an alarm. Weak: the whole interval lies below what is required; undecided: "
        f"too close to call with the crossings simulated{open_too}."
    )


def what_helps(cause: str) -> str:
    """What usually helps against a cause: in box, cards and keys alike."""
    return HELPS[cause]


def cause_meaning(cause: str) -> str:
    """What a cause is and what usually helps: `too few pixels even at full contrast: a longer lens or a nearer camera`."""
    return f"{CAUSE_MEANINGS[cause].partition(': ')[0]}: {HELPS[cause]}"


def told_in_class(place: Place, text: str) -> str:
    """A reading behind the weather class that its numbers are of: `In clear night: Best camera here ...`."""
    return f"{first_upper(in_class(place.weather))}: {text}"


def out_of(probability: float) -> str:
    """A probability as a count that can be pictured: `90 in 100`, `995 in 1,000`."""
    for total in (100, 1_000, 10_000, 100_000):
        part = probability * total
        if abs(part - round(part)) < 1e-6 * total:
            return f"{round(part):,} in {total:,}"
    return f"{100.0 * probability:.6g} in 100"


def kinds_of_weather(count: int) -> str:
    """`all six kinds of weather`, `both kinds of weather`, `the one kind of weather that counts`."""
    if count == 1:
        return "the one kind of weather that counts"
    return "both kinds of weather" if count == 2 else f"all {number_word(count)} kinds of weather"


def condition_lines(results: Results) -> list[str]:
    """What a reader must know before any number: only some hours, only some classes, or a camera taken out; none as a rule."""
    attrs = results.attrs
    lines = [stress_sentence(attrs)] if attrs.get("stress") else []
    chosen = chosen_sentence(results)
    lines += [chosen] if chosen else []
    if attrs.get("without"):
        lines.append(f"Run as if {attrs['without']} had failed.")
    return lines


def plain_lines(results: Results) -> list[str]:
    """The verdict for a reader who knows no statistics: in how many kinds of weather, on how much of the fence, where and why."""
    counted = counted_classes(results)
    verdicts = results.array("verdict", "weather", "segment")[counted]
    lines = [*_gravest_lines(results, counted), _weather_line(results, counted, verdicts)]
    total = simulated_metres(results)
    if total <= 0.0:
        return lines
    units, lengths = results.units, results.lengths_m
    weak = (verdicts == "weak").any()
    meets = float(np.sum(lengths[(verdicts == "meets").all(axis=0)]))
    lines += meets_lines(meets, total, len(counted), units)
    missing = float(np.sum(lengths)) - total
    if missing > 0.5:
        lines.append(f"{metres_text(missing, units)} of fence have no data: no rule watches there, so nothing raises an alarm.")
    if weak:
        text = f"{strip_title(results)}."
        places = results.weak_places
        if places:
            text += f" At the weakest, {places[0].code}, {in_class(places[0].weather)}: {short_reading(results, places[0])}"
        lines.append(text)
    counted = nuisance_of(results)
    said = [] if counted is None else [" ".join([headline(counted), *ceilings_words(counted)])]
    return [*lines, *built_lines(results), *said]


def _gravest_lines(results: Results, counted: list[int]) -> list[str]:
    """The place that lets most people through whatever the weather; none where every place holds half of what is required in one
    class. Of the place's lowest metre, in every class. Others are called below half where their whole interval is."""
    found = []
    for place in results.weak_places:
        numbers = [printed_numbers(results, row, place.segment)[:3] for row in counted]
        pd = max(each[0] for each in numbers)
        if len(place.weak_in) == len(counted) and pd < 0.5 * results.requirement:
            found.append((pd, place, numbers))
    if not found:
        return []
    pd, place, numbers = min(found, key=lambda each: each[0])  # of equal ones the first, which is weakest in its class
    names = dict.fromkeys(str(results.at("section", segment=k)) for k in place.segments)
    every = "in every kind of weather" if len(counted) > 1 else in_class(place.weather)
    many, most = many_in_100([each[0] for each in numbers]), round(100.0 * max(each[2] for each in numbers))
    more = most > max(round(100.0 * pd), 1)
    limit = f", and {'in none' if len(counted) > 1 else 'no'} more than {most}" if more else ""
    lines = [f"At {place.code}, {listed(list(names))}, {many} crossings of its lowest metre raise an alarm, {every}{limit}."]
    half = 0.5 * results.requirement
    others = [each.code for _, each, pds in found if each is not place and max(pd[2] for pd in pds) < half]
    if others:
        lines.append(f"Below half of what is required {every}, too: {listed(others)}.")
    return lines


def _weather_line(results: Results, counted: list[int], verdicts: np.ndarray) -> str:
    if simulated_metres(results) <= 0.0:
        return "Nothing was simulated: no rule watches any section, so nothing raises an alarm."
    need = out_of(results.requirement)
    weak = [results.classes[row] for row, words in zip(counted, verdicts) if (words == "weak").any()]
    undecided = [results.classes[row] for row, words in zip(counted, verdicts) if (words == "undecided").any()]
    count = len(counted)
    place = f"there is a place where fewer than {need} crossings raise an alarm."
    if weak and len(weak) == count:
        start = f"In {kinds_of_weather(count)}" + (f", {weak[0]}," if count == 1 else "")
        return f"{start} {place}"
    if weak:
        named = f", {weak[0]}," if len(weak) == 1 else ""
        return (
            f"In {number_word(len(weak))} of {number_word(count)} kinds of weather{named} {place} "
            "Somebody may wait for such weather."
        )
    if undecided:
        where = undecided[0] if len(undecided) == 1 else f"{number_word(len(undecided))} kinds of weather"
        return (
            f"In this model no place is shown to stay below {need} crossings, but in {where} there are metres where "
            f"{open_words('calibration' in results.attrs)}."
        )
    return f"In this model at least {need} crossings raise an alarm on every metre simulated, in {kinds_of_weather(count)}."
