"""Which lenses the distance picture draws, as A and B, and what it says about the distances that they hold."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fencecast.findings.words import feet, first_upper, number_word, requirement_text, whole
from fencecast.show.paper import style
from fencecast.show.paper.page import text_width_mm

LONGEST_LABEL_MM = 9.0


@dataclass(frozen=True)
class Lens:
    """One lens in a picture: A is drawn solid, B dashed or hatched."""

    name: str  # its name in the site file
    label: str  # short, for the picture: '3 mm', its name, or a letter
    description: str  # '3 mm, f/1.0'
    dashed: bool

    @property
    def colour(self) -> str:
        return style.B_COLOUR if self.dashed else style.A_COLOUR

    @property
    def text_colour(self) -> str:
        return style.B_TEXT if self.dashed else style.A_COLOUR


def in_key(lens: Lens) -> str:
    """A lens for the key: '3 mm lens', or, where focal lengths do not tell the lenses apart, 'wide: 3 mm, f/1.0'."""
    if lens.label.endswith(" mm"):
        return f"{lens.label} lens"
    return f"{'' if lens.label == lens.name else f'{lens.label} = '}{lens.name}: {lens.description}"


def _spoken(lens: Lens) -> str:
    """A lens in a title, which is read without the key: never a letter."""
    return lens.name if lens.label in ("A", "B") else lens.label


def lens_pairs(results, pairs=None) -> list[tuple[Lens, ...]]:
    """The lenses to draw together: those that the user names, or the two that most cameras have."""
    known = [str(name) for name in results["lens"].values]
    if pairs is None:
        used = {name: sum(camera.lens == name for camera in results.site.camera) for name in known}
        pairs = [
            sorted(sorted(known, key=lambda name: -used[name])[:2], key=lambda name: results.site.lenses[name].focal_length_mm)
        ]
    for pair in pairs:
        wrong = [name for name in pair if name not in known]
        if wrong or not 1 <= len(pair) <= 2:
            raise ValueError(
                f"a block of panels shows one or two of the lenses {', '.join(known)}, not {', '.join(map(str, pair))}"
            )
    focal = {name: f"{results.site.lenses[name].focal_length_mm:g} mm" for pair in pairs for name in pair}
    told_apart = len(set(focal.values())) == len(focal)
    short = all(text_width_mm(name, style.SMALL) <= LONGEST_LABEL_MM for name in focal)
    groups = []
    for pair in pairs:
        group = []
        for i, name in enumerate(pair):
            label = focal[name] if told_apart else name if short else "AB"[i]
            group.append(Lens(name, label, f"{focal[name]}, f/{results.site.lenses[name].f_number:.1f}", dashed=i == 1))
        groups.append(tuple(group))
    return groups


def holds(low, need: float) -> list[tuple[int, int]]:
    """Runs (first, last index) of distances at which the interval's lower end is at or above the requirement."""
    held = np.concatenate([[False], np.asarray(low) >= need, [False]])
    edges = np.flatnonzero(np.diff(held.astype(int)))
    return [(int(a), int(b) - 1) for a, b in zip(edges[::2], edges[1::2])]


def _run_words(first: int, last: int, distances, unit: str = "m") -> str:
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


def range_words(runs, distances, low, units: str = "si") -> str:
    """The label of a range bar; with units 'us' the feet of a single run follow: '7–29 m (23–95 ft)'."""
    if np.isnan(low).all():
        return "no data"
    if not runs:
        return "nowhere"
    if len(runs) == 2:
        return ", ".join(_run_words(*run, distances) for run in runs)
    if len(runs) > 2:
        return f"{number_word(len(runs))} stretches"
    in_feet = f" ({_run_words(*runs[0], np.round(feet(distances)), 'ft')})" if units == "us" else ""
    return _run_words(*runs[0], distances) + in_feet


def _span_words(runs, distances, units: str) -> str:
    """'from 7 to 29 m', 'up to 29 m', 'from 16 to beyond 90 m', 'nowhere'; of several runs the longest, 'with gaps'."""
    if not runs:
        return "nowhere"
    first, last = max(runs, key=lambda run: distances[run[1]] - distances[run[0]])
    count = len(distances) - 1
    near, far = f"{distances[first]:g}", f"{distances[last]:g} m"
    in_feet = ""
    if units == "us":
        start = f"{whole(feet(distances[first]))} to " if first < last and (first > 0 or last == len(distances) - 1) else ""
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


def _worst_class(results, lens: Lens, classes):
    """The class in which the lens holds the requirement least, with its runs and the most that any class holds [m]; or None.

    A class without hours in the year is never the worst one, unless no class has any.
    """
    distances, need = results["distance"].values.astype(float), float(results.attrs["requirement_pd"])
    found = []
    for place, c in enumerate([c for c in classes if c.hours > 0] or list(classes)):
        low = results["pd_distance_low"].sel(lens=lens.name).values[c.index]
        if not np.isnan(low).all():
            runs = holds(low, need)
            # A single distance counts for a little: it is more than nowhere.
            found.append((sum(distances[b] - distances[a] + 1e-6 for a, b in runs), place, c.name, runs))
    if not found:
        return None
    _, _, name, runs = min(found)
    return name, runs, max(found)[0]


def distance_title(results, lenses, classes) -> str:
    """`Warm dusk is worst: 3 mm holds 0.90 from 7 to 29 m, 6 mm from 16 to 58 m`: each lens where it holds least."""
    distances, units = results["distance"].values.astype(float), str(results.attrs["units"])
    need = requirement_text(float(results.attrs["requirement_pd"]))
    told = [(lens, found) for lens in lenses if (found := _worst_class(results, lens, classes)) is not None]
    if not told:
        return "No distances were simulated for these lenses"
    if all(most == 0 for _, (_, _, most) in told):
        where = "in any weather class" if len(classes) > 1 else f"in {classes[0].name}"
        if len(told) > 1:
            return f"Neither lens holds {need} at any distance {where}"
        return f"{_spoken(told[0][0])} holds {need} at no distance {where}"
    words = [(_spoken(lens), _span_words(runs, distances, units), name) for lens, (name, runs, _) in told]
    if len({name for _, _, name in words}) > 1:
        return f"Worst classes: {need} is held by " + ", by ".join(f"{lens} {text} ({name})" for lens, text, name in words)
    start = f"{first_upper(words[0][2])}{' is worst' if len(classes) > 1 else ''}: "
    if len({text for _, text, _ in words}) == 1 and len(words) == 2:
        text = words[0][1]
        return f"{start}neither lens holds {need}" if text == "nowhere" else f"{start}both lenses hold {need} {text}"
    return f"{start}{words[0][0]} holds {need} {words[0][1]}" + "".join(f", {lens} {text}" for lens, text, _ in words[1:])


def subtitle(results, groups, drawn, classes) -> str:
    """What is drawn: the camera, its height, the interval, the classes left out, the lenses left out."""
    shown = {lens.name for group in groups for lens in group}
    heights = {}
    for name in shown:
        of_lens = [camera.height_m for camera in results.site.camera if camera.lens == name]
        if of_lens:
            heights[name] = float(np.median(of_lens))
    units = str(results.attrs["units"])
    if len(set(heights.values())) == 1:
        height = next(iter(heights.values()))
        camera = f"one camera {height:g} m{f' ({feet(height):.0f} ft)' if units == 'us' else ''} up"
    else:
        camera = "one camera at the median height of those with the lens"
    text = (
        f"Pd against ground distance for {camera}, crossings on its axis, bands are "
        f"{100 * float(results.attrs['confidence']):g} % intervals, worst class first"
    )
    if len(drawn) < len(classes):
        text += f"; the worst {number_word(len(drawn))} of {number_word(len(classes))} classes"
    left_out = [name for name in map(str, results["lens"].values) if name not in shown]
    if left_out:
        text += "; not drawn: " + ", ".join(f"{results.site.lenses[name].focal_length_mm:g} mm ({name})" for name in left_out)
    return text
