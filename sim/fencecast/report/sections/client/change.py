"""Client edition, what would change it: changes without their positions, losses in two numbers, designs as A, B, C."""

from __future__ import annotations

import json
from dataclasses import dataclass

import numpy as np

from fencecast.decide.losses import newly_weak_m
from fencecast.estimate.intervals import verdicts
from fencecast.estimate.places import class_with_most
from fencecast.estimate.results import Results
from fencecast.findings.comparison import (
    BETTER,
    EQUIVALENT,
    NOT_DISTINGUISHABLE,
    WORSE,
    class_findings,
    variant_names,
    year_metres,
)
from fencecast.findings.titles import over_year
from fencecast.findings.words import first_upper, hours_text, in_class, metres_text
from fencecast.report.sections.client.words import change_words, letters_of
from fencecast.report.sections.section import Body, Source

# What fails together, by the attribute `losses_by`.
_WHAT = {"camera": "a camera", "depends_on": "a mast, switch or supply"}


@dataclass(frozen=True)
class Step:
    """One change: what it is, without where, and metres weak before and after it."""

    what: str
    text: str


@dataclass(frozen=True)
class DesignRow:
    """Metres of one weather class, or of the year, by how the second design does against the first."""

    name: str
    hours: str
    better: str
    worse: str
    not_distinguishable: str
    equivalent: str


@dataclass(frozen=True)
class Design:
    """One design against the first: heading, one sentence, and its rows."""

    heading: str
    sentence: str
    rows: tuple[DesignRow, ...]


@dataclass(frozen=True)
class ClientChange:
    """Each part empty where the results have nothing of it: lines on the changes found, its steps, on losses, and designs."""

    changes: tuple[str, ...]
    steps: tuple[Step, ...]
    losses: tuple[str, ...]
    designs: tuple[Design, ...]
    note: str


def change_of(source: Source) -> Body | None:
    """The section; None when the results hold no change, no loss and no comparison."""
    steps, losses = _steps(source.results), _losses(source.results)
    designs = () if source.comparison is None else _designs(source.comparison)
    if not (steps or losses or designs):
        return None
    note = "Which camera, which way and where stands in the full edition only." if steps else ""
    changes = summary(source.results)
    facts = ClientChange((changes,) if changes else (), steps, losses, designs, note)
    return Body("What would change it", "", facts)


def kept_steps(results: Results) -> list[dict]:
    """The steps that `run --remedy` left in the results, in order."""
    return list(json.loads(str(results.attrs.get("remedy_steps", "[]"))))


def summary(results: Results) -> str:
    """`One camera turned, one camera more: 40 m weak in advection fog become 28 m.`; '' without a change."""
    steps = kept_steps(results)
    if not steps:
        return ""
    worst, units = _worst(results), results.units
    before, after = steps[0]["weak_m"][0], steps[-1]["weak_m"][1]
    what = change_words([str(step["kind"]) for step in steps])
    return f"{what}: {_benefit(worst, before, after, _most_elsewhere(results, steps), units)}."


def _worst(results: Results) -> str:
    return str(results.attrs.get("remedy_worst", results.worst_first[0].name))


def _steps(results: Results) -> tuple[Step, ...]:
    worst, units = _worst(results), results.units
    return tuple(
        Step(
            change_words([str(step["kind"])]),
            _benefit(worst, *step["weak_m"], (str(step["most_in"]), *step["most_m"]), units),
        )
        for step in kept_steps(results)
    )


def _most_elsewhere(results: Results, steps: list[dict]) -> tuple[str, float, float]:
    """The class in which all steps together take most weak metres away, and metres weak in it before and after them.

    From every cell where the results keep them; else from the steps, each of which names the class that gains most by it.
    """
    ends: dict[str, tuple[float, float]] = {}
    if "pd_remedy" in results:
        for row, name in enumerate(results.classes):
            low, high = (results.array(f"pd_remedy{end}", "remedy", "weather", "segment")[:, row] for end in ("_low", "_high"))
            if not np.isnan(low[0]).all():
                weak = verdicts(low, high, results.requirement) == "weak"
                ends[name] = float(results.lengths_m[weak[0]].sum()), float(results.lengths_m[weak[-1]].sum())
    else:
        for step in steps:
            before, after = step["most_m"]
            ends[str(step["most_in"])] = ends.get(str(step["most_in"]), (before,))[0], after
    name = max(ends, key=lambda each: ends[each][0] - ends[each][1])
    return name, *ends[name]


def _benefit(worst: str, before: float, after: float, most: tuple[str, float, float], units: str) -> str:
    """`40 m weak in fog become 28 m`; `54 m stay weak in heavy rain; in snow 16 m become 6 m`; `no metre less, Pd a little
    higher`: a gain is told only where the metres as printed become fewer."""
    was, becomes = metres_text(before, units), metres_text(after, units)
    if after < before and was != becomes:
        return f"{was} weak {in_class(worst)} become {becomes}"
    name, most_before, most_after = most
    was_most, becomes_most = metres_text(most_before, units), metres_text(most_after, units)
    gains = most_after < most_before and was_most != becomes_most
    if after > before and was != becomes:
        first = f"{was} weak {in_class(worst)} become {becomes}"
    elif before < 0.5:
        first = f"no metre is weak {in_class(worst)}, as before"
    elif not gains:
        return "no metre less, Pd a little higher"
    else:
        first = f"{was} stay weak {in_class(worst)}"
    return f"{first}; {in_class(name)} {was_most} become {becomes_most}" if gains else first


def _losses(results: Results) -> tuple[str, ...]:
    """The costliest and the cheapest loss by the metres newly weak in the class where each costs most."""
    if "pd_loss" not in results:
        return ()
    by_class = newly_weak_m(results)
    rows = [class_with_most(results, each) for each in by_class]
    metres = [float(each[row]) for each, row in zip(by_class, rows)]
    what, units = _WHAT[str(results.attrs["losses_by"])], results.units
    most = int(np.argmax(metres))
    if metres[most] < 0.5:
        return (f"No single loss ({what}) makes as much as half a metre weak that was not weak before.",)
    costs = f"The costliest single loss ({what}) makes {metres_text(metres[most], units)} newly weak"
    least = min(metres)
    cheapest = metres_text(least, units) if least >= 0.5 else "none"
    rest = f"; the cheapest {cheapest}" if len(metres) > 1 else ""
    return (f"{costs} {in_class(results.classes[rows[most]])}{rest}.",)


def _designs(comparison: Results) -> tuple[Design, ...]:
    letters = letters_of(len(variant_names(comparison)))
    return tuple(_design(comparison, k, letters) for k in range(len(letters) - 1)) if len(variant_names(comparison)) > 1 else ()


def _design(comparison: Results, compared: int, letters: list[str]) -> Design:
    base, name = letters[0], letters[compared + 1]
    found, units, years = class_findings(comparison, compared), comparison.units, comparison.years
    rows = [_design_row(c.name, hours_text(c.hours, years), c.metres, units) for c in found]
    year, over = year_metres(comparison, compared), over_year(comparison)
    if len(found) > 1:
        rows.append(_design_row(f"{over}, by hours", hours_text(sum(c.hours for c in found), years), year, units))
    margin = f"within ±{float(comparison.attrs['margin']):g}"
    text = {word: metres_text(year[word], units) for word in (BETTER, WORSE, NOT_DISTINGUISHABLE, EQUIVALENT)}
    sentence = (
        f"{first_upper(over)} design {name} is better than design {base} on {text[BETTER]}, worse on {text[WORSE]}, not "
        f"distinguishable on {text[NOT_DISTINGUISHABLE]} and equivalent ({margin} of Pd) on {text[EQUIVALENT]}, on the same "
        "crossings."
    )
    return Design(f"Design {name} against design {base}", sentence, tuple(rows))


def _design_row(name: str, hours: str, metres: dict[str, float], units: str) -> DesignRow:
    words = (BETTER, WORSE, NOT_DISTINGUISHABLE, EQUIVALENT)
    return DesignRow(name, hours, *(metres_text(metres[word], units) for word in words))
