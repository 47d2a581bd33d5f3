"""What is said of a lens against distance: from where to where it reaches the requirement, and in which class least."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fencecast.estimate.places import ClassSummary
from fencecast.estimate.results import Results
from fencecast.findings.spans import Span, spans_of
from fencecast.findings.words import confidence_text, feet, first_upper, in_class, number_word, requirement_text, whole
from fencecast.units import METRES_PER_FOOT


def spans_in(results: Results, lens: int, weather: int) -> tuple[Span, ...] | None:
    """The stretches of a lens's curve in a class, both by their index in the results; None without data."""
    at = {"lens": lens, "weather": weather}
    pd, low, high = (results.at(f"pd_distance{end}", **at).astype(float) for end in ("", "_low", "_high"))
    if np.isnan(pd).all():
        return None
    return spans_of(results.array("distance", "distance").astype(float), pd, low, high, results.requirement)


def _bar_words(span: Span, distances: np.ndarray, scale: float, unit: str) -> str:
    """'7–29 m', '16 to beyond 90 m' when it leaves the axis, '<2 to 29 m' when it begins with the nearest distance."""
    near, far = (f"{edge / scale:.0f}" for edge in span.metres(distances))
    if span.near is None:
        near = f"<{near}"
    if span.far is None:
        return f"beyond {far} {unit}" if near == far else f"{near} to beyond {far} {unit}"
    if span.near is None:
        return f"{near} to {far} {unit}"
    return f"{far} {unit}" if near == far else f"{near}–{far} {unit}"


def range_words(spans: Sequence[Span] | None, distances: np.ndarray, units: str = "si") -> str:
    """The label of a range bar; with units 'us' the feet of a single stretch follow: '7–29 m (23–95 ft)'."""
    if spans is None:
        return "no data"
    if not spans:
        return "nowhere"
    end = "" if any(span.shown for span in spans) else ", undecided"
    if len(spans) > 2:
        return f"{number_word(len(spans))} stretches{end}"
    words = ", ".join(_bar_words(span, distances, 1.0, "m") for span in spans)
    in_feet = f" ({_bar_words(spans[0], distances, METRES_PER_FOOT, 'ft')})" if units == "us" and len(spans) == 1 else ""
    return words + in_feet + end


def span_words(spans: Sequence[Span], distances: np.ndarray, units: str) -> str:
    """'from 7 to 29 m', 'up to 29 m', 'from 16 to beyond 90 m', 'nowhere'; of several stretches the longest, 'with gaps'."""
    if not spans:
        return "nowhere"
    span = max(spans, key=lambda each: each.metres(distances)[1] - each.metres(distances)[0])
    start, end = span.metres(distances)
    near, far = f"{start:.0f}", f"{end:.0f} m"
    in_feet = ""
    if units == "us":
        first = f"{whole(feet(start))} to " if near != f"{end:.0f}" and (span.near is not None or span.far is None) else ""
        in_feet = f" ({first}{whole(feet(end))} ft)"
    if span.near is None and span.far is None:
        words = f"at every distance from {near} to {far}"
    elif span.far is None:
        words = f"beyond {far}" if near == f"{end:.0f}" else f"from {near} to beyond {far}"
    elif span.near is None:
        words = f"up to {far}"
    else:
        words = f"at {far}" if near == f"{end:.0f}" else f"from {near} to {far}"
    undecided = "" if any(each.shown for each in spans) else ", undecided"
    return f"{words}{in_feet}{' with gaps' if len(spans) > 1 else ''}{undecided}"


@dataclass(frozen=True)
class LeastDistances:
    """The class in which a lens reaches the requirement over the fewest metres: its name, the stretches there, and the most
    metres that any class has."""

    weather: str
    spans: tuple[Span, ...]
    most_m: float


def least_distances(results: Results, lens: str, classes: Sequence[ClassSummary]) -> LeastDistances | None:
    """Where a lens reaches the requirement least; None without data.

    A class without hours in the year is never the worst one, unless no class has any.
    """
    distances = results.array("distance", "distance").astype(float)
    lens_index = [str(name) for name in results["lens"].values].index(lens)
    found = []
    for order, c in enumerate([c for c in classes if c.hours > 0] or list(classes)):
        spans = spans_in(results, lens_index, c.index)
        if spans is not None:
            reached = [span.metres(distances) for span in spans]
            # A single distance counts for a little: it is more than nowhere.
            found.append((sum(end - start + 1e-6 for start, end in reached), order, c.name, spans))
    if not found:
        return None
    _, _, name, spans = min(found, key=lambda each: each[:2])
    return LeastDistances(name, spans, max(each[0] for each in found))


def holds_sentence(results: Results, weather_index: int) -> str:
    """`In heavy rain, one camera on its axis holds 0.90 with a 3 mm lens from 6 to 16 m, with a 6 mm lens from 10 to 30 m.`

    A fact to hold beside the distance of a camera, no promise: lenses that cameras have. '' without simulated distances.
    """
    if "pd_distance" not in results:
        return ""
    distances, site = results.array("distance", "distance").astype(float), results.site
    used = {camera.lens for camera in site.camera}
    parts = []
    for k, name in enumerate(map(str, results["lens"].values)):
        spans = spans_in(results, k, weather_index) if name in used else None
        if spans is not None:
            focal = f"{site.lenses[name].focal_length_mm:g} mm"
            parts.append(f"with a {focal} lens {span_words(spans, distances, results.units)}")
    if not parts:
        return ""
    where = first_upper(in_class(results.classes[weather_index]))
    return f"{where}, one camera on its axis holds {requirement_text(results.requirement)} {', '.join(parts)}."


def distance_title(results: Results, lenses: Sequence[tuple[str, str]], classes: Sequence[ClassSummary]) -> str:
    """`Warm dusk is worst: 3 mm reaches 0.90 from 7 to 29 m, 6 mm from 16 to 58 m`: each lens where it does so least.

    lenses: name in the site and name in the sentence of each.
    """
    distances, units = results.array("distance", "distance").astype(float), results.units
    need = requirement_text(results.requirement)
    known = [(spoken, found) for name, spoken in lenses if (found := least_distances(results, name, classes)) is not None]
    if not known:
        return "No distances were simulated for these lenses"
    if all(found.most_m == 0 for _, found in known):
        where = "in any weather class" if len(classes) > 1 else f"in {classes[0].name}"
        if len(known) > 1:
            return f"Neither lens reaches {need} at any distance {where}"
        return f"{known[0][0]} reaches {need} at no distance {where}"
    words = [(spoken, span_words(found.spans, distances, units), found.weather) for spoken, found in known]
    if len({name for _, _, name in words}) > 1:
        return f"Worst classes: {need} is reached by " + ", by ".join(f"{lens} {text} ({name})" for lens, text, name in words)
    start = f"{first_upper(words[0][2])}{' is worst' if len(classes) > 1 else ''}: "
    if len({text for _, text, _ in words}) == 1 and len(words) == 2:
        text = words[0][1]
        return f"{start}neither lens reaches {need}" if text == "nowhere" else f"{start}both lenses reach {need} {text}"
    return f"{start}{words[0][0]} reaches {need} {words[0][1]}" + "".join(f", {lens} {text}" for lens, text, _ in words[1:])


def distance_subtitle(results: Results, shown: Sequence[str], drawn: int, classes: int) -> str:
    """What is drawn: the camera, its height, the interval, the classes left out. shown: names of lenses."""
    heights: dict[str, float] = {}
    for name in shown:
        of_lens = [camera.height_m for camera in results.site.camera if camera.lens == name]
        if of_lens:
            heights[name] = float(np.median(of_lens))
    if len(set(heights.values())) == 1:
        height = next(iter(heights.values()))
        camera = f"one camera {height:g} m{f' ({feet(height):.0f} ft)' if results.units == 'us' else ''} up"
    else:
        camera = "one camera at the median height of those with the lens"
    text = (
        f"Pd against ground distance for {camera}, crossings on its axis, bands are "
        f"{confidence_text(results.confidence)} intervals, worst class first"
    )
    if drawn < classes:
        text += f"; the worst {number_word(drawn)} of {number_word(classes)} classes"
    return text


def distance_note(results: Results, shown: Sequence[str]) -> str:
    """What the distances are, what the bars below the panels mean, and which lenses have no room. shown: names of lenses."""
    distances, units = results.array("distance", "distance").astype(float), results.units
    ends = f"{distances[0]:g} to {distances[-1]:g} m"
    if units == "us":
        ends += f" ({whole(feet(distances[0]))} to {whole(feet(distances[-1]))} ft)"
    text = (
        f"Ground distance from the camera, {'m and ft' if units == 'us' else 'm'}. Bars and their words: where the curve reaches "
        f"the requirement, interpolated between the {number_word(len(distances))} distances simulated from {ends}; full bar: "
        "where the complete interval does; outline: undecided."
    )
    left_out = [name for name in map(str, results["lens"].values) if name not in shown]
    if left_out:
        names = ", ".join(f"{results.site.lenses[name].focal_length_mm:g} mm ({name})" for name in left_out)
        text += f" No room here for {names}: in the table of `fencecast run`."
    return text
