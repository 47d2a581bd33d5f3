"""Titles about designs: one against another, the fence after a loss, what more cameras buy."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fencecast.decide.losses import listed
from fencecast.decide.place.proposal import Step
from fencecast.estimate.places import class_with_most
from fencecast.estimate.results import Results
from fencecast.findings.comparison import NOT_DISTINGUISHABLE, ClassFinding
from fencecast.findings.titles import strip_title
from fencecast.findings.words import first_upper, metres_text, number_word, pd_text, plural, requirement_text, whole


def comparison_title(found: Sequence[ClassFinding], base: str, name: str, units: str) -> str:
    """`Warm dusk: 6 mm lets 104 weak metres meet the requirement and makes 4 weak that met it`: the worst class with hours.

    base, name: the designs as they are written in the title.
    """
    worst = next((c for c in found if c.hours > 0), found[0])
    start, metres = f"{first_upper(worst.name)}: ", worst.metres
    if metres["no data"] >= sum(metres.values()) - 0.5:
        return f"{start}nothing was simulated"
    if metres["better"] + metres["worse"] + metres[NOT_DISTINGUISHABLE] < 0.5:
        return f"{start}{base} and {name} are equivalent on all {metres_text(metres['equivalent'], units)}"
    met, weak = worst.turned_to_meets_m, worst.turned_weak_m
    if met + weak < 0.5:
        better, worse = (metres_text(metres[word], units) for word in ("better", "worse"))
        return f"{start}{name} is better on {better} and worse on {worse}; no metre changes between weak and meets"
    if weak < 0.5:
        return f"{start}{name} lets {_metres(met)} meet the requirement and makes none weak that met it"
    if met < 0.5:
        return f"{start}{name} lets no weak metre meet the requirement and makes {whole(weak)} m weak that met it"
    return f"{start}{name} lets {_metres(met)} meet the requirement and makes {whole(weak)} m weak that met it"


def _metres(metres: float) -> str:
    return "1 weak metre" if whole(metres) == "1" else f"{whole(metres)} weak metres"


def comparison_subtitle(base: str, name: str, drawn: int, classes: int) -> str:
    """What bars mean, and how many classes are drawn."""
    text = f"Difference in Pd, {name} minus {base}, the same crossings through both: bars up, {name} better; down, {base} better"
    return f"{text}; the worst {number_word(drawn)} of {number_word(classes)} classes" if drawn < classes else text


def loss_titles(results: Results, loss: int, after: Results) -> list[str]:
    """`Without C3: 14 m newly weak in warm dusk; nine places are weak, ...`, then shorter forms, to choose by room."""
    fresh = results.at("loss_newly_weak", loss=loss) @ results.lengths_m
    row = class_with_most(results, fresh)
    lost = np.asarray(results.array("lost", "loss", "camera")[loss], dtype=bool)
    named = [f"Without {listed([mark for mark, gone in zip(results.marks, lost) if gone])}"]
    named.append(f"Without {results.at('loss', loss=loss)}")
    if fresh[row] < 0.5:
        return [f"{name}: no metre newly weak" for name in named]
    where = f"{metres_text(float(fresh[row]), results.units)} newly weak in {results.classes[row]}"
    said = strip_title(after)
    titles = []
    for name in named:
        titles += [f"{name}: {where}; {said[0].lower()}{said[1:]}", f"{name}: {where}"]
    return titles


def cost_title(steps: Sequence[Step], need: float) -> str:
    """`One new camera and one changed: the weakest metre goes from <0.01 to 0.62, required 0.90`."""
    first, last = steps[0], steps[-1]
    if len(steps) == 1:
        return f"Nothing to add: the weakest metre has Pd {pd_text(last.fresh)}, required {requirement_text(need)}"
    parts = []
    if last.new:
        parts.append(plural(last.new, "new camera"))
    if last.changed:
        parts.append(f"{number_word(last.changed)} changed")
    words = first_upper(" and ".join(parts) or "No change")
    before = pd_text(first.fresh) if first.cameras else "nothing"
    return f"{words}: the weakest metre goes from {before} to {pd_text(last.fresh)}, required {requirement_text(need)}"


def cost_words(unit: str) -> str:
    """What a cost counts, in words."""
    return "in the prices of the site file" if unit == "price" else "a new camera 1, another lens 0.4, turning one 0.1"


def cost_text(value: float, unit: str) -> str:
    """A cost: whole money with a comma at the thousands, or cameras to a tenth."""
    return whole(value) if unit == "price" else f"{value:.1f}".removesuffix(".0")
