"""What is said of a lens against distance: from where to where it meets the requirement, and in which class least."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fencecast.estimate.places import ClassSummary
from fencecast.estimate.results import Results
from fencecast.findings.words import feet, first_upper, number_word, requirement_text, whole
from fencecast.units import METRES_PER_FOOT

Runs = list[tuple[int, int]]


def meets_runs(low: np.ndarray, need: float) -> Runs:
    """Runs (first, last index) of distances at which the interval's lower end is at or above the requirement."""
    held = np.concatenate([[False], np.asarray(low) >= need, [False]])
    edges = np.flatnonzero(np.diff(held.astype(int)))
    return [(int(a), int(b) - 1) for a, b in zip(edges[::2], edges[1::2])]


def _run_words(first: int, last: int, distances: np.ndarray, unit: str = "m") -> str:
    """'7–29 m', '16 to >90 m' when it leaves the axis, '<2 to 29 m' when it begins with the nearest distance."""
    count = len(distances) - 1
    near, far = f"{distances[first]:g}", f"{distances[last]:g}"
    if first == last:
        return f"{near} {unit}"
    if first == 0 and last == count:
        return f"<{near} to >{far} {unit}"
    if last == count:
        return f"{near} to >{far} {unit}"
    if first == 0:
        return f"<{near} to {far} {unit}"
    return f"{near}–{far} {unit}"


def range_words(runs: Runs, distances: np.ndarray, low: np.ndarray, units: str = "si") -> str:
    """The label of a range bar; with units 'us' the feet of a single run follow: '7–29 m (23–95 ft)'."""
    if np.isnan(low).all():
        return "no data"
    if not runs:
        return "nowhere"
    if len(runs) == 2:
        return ", ".join(_run_words(*run, distances) for run in runs)
    if len(runs) > 2:
        return f"{number_word(len(runs))} stretches"
    in_feet = f" ({_run_words(*runs[0], np.round(distances / METRES_PER_FOOT), 'ft')})" if units == "us" else ""
    return _run_words(*runs[0], distances) + in_feet


def _span_words(runs: Runs, distances: np.ndarray, units: str) -> str:
    """'from 7 to 29 m', 'up to 29 m', 'from 16 to beyond 90 m', 'nowhere'; of several runs the longest, 'with gaps'."""
    if not runs:
        return "nowhere"
    first, last = max(runs, key=lambda run: distances[run[1]] - distances[run[0]])
    count = len(distances) - 1
    near, far = f"{distances[first]:g}", f"{distances[last]:g} m"
    in_feet = ""
    if units == "us":
        start = f"{whole(feet(distances[first]))} to " if first < last and (first > 0 or last == count) else ""
        in_feet = f" ({start}{whole(feet(distances[last]))} ft)"
    beyond = "beyond " if last == count else ""
    if first == last:
        words = f"at {far}"
    elif first == 0 and last == count:
        words = f"at every distance from {near} to {far}"
    elif first == 0:
        words = f"up to {far}"
    else:
        words = f"from {near} to {beyond}{far}"
    return f"{words}{in_feet}{' with gaps' if len(runs) > 1 else ''}"


@dataclass(frozen=True)
class LeastDistances:
    """The class in which a lens meets the requirement over the fewest metres: its name, the runs there, and the most metres that
    any class has."""

    weather: str
    runs: Runs
    most_m: float


def least_distances(results: Results, lens: str, classes: Sequence[ClassSummary]) -> LeastDistances | None:
    """Where a lens meets the requirement least; None without data.

    A class without hours in the year is never the worst one, unless no class has any.
    """
    distances = results.array("distance", "distance").astype(float)
    lens_index = [str(name) for name in results["lens"].values].index(lens)
    found = []
    for order, c in enumerate([c for c in classes if c.hours > 0] or list(classes)):
        low = results.at("pd_distance_low", lens=lens_index, weather=c.index)
        if not np.isnan(low).all():
            runs = meets_runs(low, results.requirement)
            # A single distance counts for a little: it is more than nowhere.
            found.append((sum(distances[b] - distances[a] + 1e-6 for a, b in runs), order, c.name, runs))
    if not found:
        return None
    _, _, name, runs = min(found)
    return LeastDistances(name, runs, max(found)[0])


def distance_title(results: Results, lenses: Sequence[tuple[str, str]], classes: Sequence[ClassSummary]) -> str:
    """`Warm dusk is worst: 3 mm meets 0.90 from 7 to 29 m, 6 mm from 16 to 58 m`: each lens where it meets it least.

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
            return f"Neither lens meets {need} at any distance {where}"
        return f"{known[0][0]} meets {need} at no distance {where}"
    words = [(spoken, _span_words(found.runs, distances, units), found.weather) for spoken, found in known]
    if len({name for _, _, name in words}) > 1:
        return f"Worst classes: {need} is met by " + ", by ".join(f"{lens} {text} ({name})" for lens, text, name in words)
    start = f"{first_upper(words[0][2])}{' is worst' if len(classes) > 1 else ''}: "
    if len({text for _, text, _ in words}) == 1 and len(words) == 2:
        text = words[0][1]
        return f"{start}neither lens meets {need}" if text == "nowhere" else f"{start}both lenses meet {need} {text}"
    return f"{start}{words[0][0]} meets {need} {words[0][1]}" + "".join(f", {lens} {text}" for lens, text, _ in words[1:])


def distance_subtitle(results: Results, shown: Sequence[str], drawn: int, classes: int) -> str:
    """What is drawn: the camera, its height, the interval, the classes left out, the lenses left out. shown: names of lenses."""
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
        f"{100 * results.confidence:g} % intervals, worst class first"
    )
    if drawn < classes:
        text += f"; the worst {number_word(drawn)} of {number_word(classes)} classes"
    left_out = [name for name in map(str, results["lens"].values) if name not in shown]
    if left_out:
        text += "; not drawn: " + ", ".join(f"{results.site.lenses[name].focal_length_mm:g} mm ({name})" for name in left_out)
    return text


def distance_note(distances: np.ndarray, units: str) -> str:
    """What the distances are and what the bars below the panels mean."""
    ends = f"{distances[0]:g} to {distances[-1]:g} m"
    if units == "us":
        ends += f" ({whole(feet(distances[0]))} to {whole(feet(distances[-1]))} ft)"
    return (
        f"Ground distance from the camera, {'m and ft' if units == 'us' else 'm'}. Bars: distances at which the full interval "
        f"is at or above the requirement, of {number_word(len(distances))} simulated from {ends}."
    )
