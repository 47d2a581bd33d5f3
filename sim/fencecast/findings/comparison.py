"""A comparison in numbers and in one plain sentence: metres of each verdict, weakest places, where one design takes over."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from fencecast.decide.compare.designs import as_run
from fencecast.decide.compare.paired import VERDICTS
from fencecast.estimate.diagnosis import counted_classes
from fencecast.estimate.places import code_of, site_of, touching, whole, worst_first
from fencecast.estimate.results import Results
from fencecast.estimate.weakest import leading_cause, printed_numbers, touching_sets

# The verdicts of two designs; undecided is a word for a design against the requirement.
BETTER, WORSE, EQUIVALENT, NOT_DISTINGUISHABLE, NO_DATA = VERDICTS
# A sentence names at most so many stretches.
_NAMED = 3


@dataclass(frozen=True)
class ClassFinding:
    """One variant against the base in one weather class: metres by verdict, metres that change sides.

    hours: a year; years: of the record that they are from.
    """

    index: int
    name: str
    hours: float
    years: float
    metres: dict[str, float]
    turned_to_meets_m: float
    turned_weak_m: float
    mean: float
    low: float
    high: float


@dataclass(frozen=True)
class Lowest:
    """A variant's weakest place: its lowest segment in a class with hours, with the numbers of its fresh crossings."""

    code: str
    weather: str
    segment: int
    pd: float
    low: float
    high: float


def metres_of(words: np.ndarray, lengths: np.ndarray) -> dict[str, float]:
    """Metres of each verdict of a comparison."""
    words = np.asarray(words)
    return {word: float(np.sum(lengths[words == word])) for word in VERDICTS}


def class_findings(results: Results, compared: int) -> list[ClassFinding]:
    """Every weather class, in the base's own order of a run (worst first)."""
    results = Results.of(results)
    lengths, found = results.lengths_m, []
    for c in worst_first(run_of(results, 0)):
        before, after = (results.at("standing", variant=k, weather=c.index) for k in (0, compared + 1))
        found.append(
            ClassFinding(
                c.index,
                c.name,
                c.hours,
                c.years,
                metres_of(results.at("verdict", compared=compared, weather=c.index), lengths),
                float(np.sum(lengths[(before == "weak") & (after == "meets")])),
                float(np.sum(lengths[(before == "meets") & (after == "weak")])),
                *(results.at(f"mean_difference{end}", compared=compared, weather=c.index) for end in ("", "_low", "_high")),
            )
        )
    return found


def run_of(results: Results, variant: int) -> Results:
    """One design of a comparison as the results of a run."""
    return Results.of(as_run(results.data, variant))


def year_metres(results: Results, compared: int) -> dict[str, float]:
    """Metres of each verdict over the year, weather classes weighted by hours."""
    return metres_of(results.at("verdict_year", compared=compared), results.lengths_m)


def lowest_of(results: Results, variant: int) -> Lowest | None:
    """A variant's weakest place over the classes with hours; None when nothing was simulated."""
    run = run_of(results, variant)
    pd = np.nan_to_num(run.array("pd", "weather", "segment"), nan=np.inf)
    rows = counted_classes(run)
    if np.isinf(pd[rows]).all():
        return None
    # Ranked by the fresh numbers where there are any: the lowest segment of every class has them.
    lowest = [(row, int(np.argmin(pd[row]))) for row in rows]
    _, row, segment = min((printed_numbers(run, row, segment)[0], row, segment) for row, segment in lowest)
    code = code_of(run, run_of(results, 0).sections, segment, segment)  # the base's letters, for all designs the same
    return Lowest(code, run.classes[row], segment, *printed_numbers(run, row, segment)[:3])


def holm_metres(results: Results, compared: int) -> tuple[float, float]:
    """Metres that are better, and worse, in some class by p-values adjusted for all segments and classes together (Holm)."""
    p, sign = (results.at(name, compared=compared) for name in ("pd_difference_p_holm", "pd_difference"))
    kept = p <= 1.0 - results.confidence
    better, worse = (float(np.sum(results.lengths_m[(kept & (side * sign > 0.0)).any(axis=0)])) for side in (1, -1))
    return better, worse


@dataclass(frozen=True)
class Takeover:
    """Where the difference changes its sign: `after` the last place decided one way, `before` the first decided the other way.

    at: where the estimates cross zero between them; up: from worse to better.
    """

    after: float
    at: float
    before: float
    up: bool


def takeovers(x: ArrayLike, mean: ArrayLike, low: ArrayLike, high: ArrayLike) -> list[Takeover]:
    """Changes of sign of a difference along x (metres), between places whose whole interval lies on one side of zero."""
    x, mean, low, high = (np.asarray(values, dtype=float) for values in (x, mean, low, high))
    decided = [(i, low[i] > 0.0) for i in range(len(x)) if low[i] > 0.0 or high[i] < 0.0]
    found = []
    for (i, was), (j, now) in zip(decided, decided[1:]):
        if was != now:
            between = np.arange(i, j)
            turn = [k for k in between if (mean[k] > 0.0) != (mean[k + 1] > 0.0)]
            k = turn[len(turn) // 2]
            share = mean[k] / (mean[k] - mean[k + 1])
            found.append(Takeover(float(x[i]), float(x[k] + share * (x[k + 1] - x[k])), float(x[j]), bool(now)))
    return found


def variant_names(results: Results) -> list[str]:
    """Names of the designs, the base first."""
    return [str(name) for name in results["variant"].values]


def plain_sentence(results: Results, compared: int) -> str:
    """One finding in words: metres by verdict over the year, where the worse ones lie, what turns weak because nobody is seen."""
    results = Results.of(results)
    names = variant_names(results)
    base, name = names[0], names[compared + 1]
    metres = year_metres(results, compared)
    margin = f"within ±{float(results.attrs['margin']):g}"
    span = "the armed hours" if "weather_source" in results.attrs else "the year"
    if not any(metres[word] for word in (BETTER, WORSE, NOT_DISTINGUISHABLE)):
        if not metres[EQUIVALENT]:
            return f"Nothing was simulated for {base} and {name}."
        return f"Over {span} {name} and {base} are equivalent on all {whole(metres[EQUIVALENT])} m: {margin}."
    said = (
        f"Over {span} {name} is better on {whole(metres[BETTER])} m, "
        f"worse on {whole(metres[WORSE])} m{_near_words(results, compared)}, "
        f"not distinguishable on {whole(metres[NOT_DISTINGUISHABLE])} m and equivalent on {whole(metres[EQUIVALENT])} m "
        f"({margin})."
    )
    blind = newly_unseen(results, compared)
    if blind:
        codes = ", ".join(blind[:_NAMED]) + (f" and {len(blind) - _NAMED} more" if len(blind) > _NAMED else "")
        one = len(blind) == 1
        said += f" With it {codes} {'turns' if one else 'turn'} weak in some weather, mostly because nobody there is in view."
    return said


def _near_words(results: Results, compared: int) -> str:
    """' close to the cameras (within 9 m)' when all worse metres are nearer to a camera than half of the better ones."""
    words = results.at("verdict_year", compared=compared)
    worse, better = words == WORSE, words == BETTER
    if not worse.any():
        return ""
    cameras = np.array([camera.position_m for camera in site_of(run_of(results, compared + 1)).camera], dtype=float)
    at = np.column_stack([results["x_m"].values, results["y_m"].values])
    away = np.hypot(*(at[:, None, :] - cameras[None]).transpose(2, 0, 1)).min(axis=1)
    middle = float(np.median(away[better])) if better.any() else math.inf
    if away[worse].max() < middle:
        return f" close to the cameras (within {math.ceil(away[worse].max())} m)"
    if better.any() and away[worse].min() > middle:
        return f" far from the cameras (beyond {math.floor(away[worse].min())} m)"
    return ""


def newly_unseen(results: Results, compared: int) -> list[str]:
    """Place codes of touching segments that are weak with the variant in a class where they are not with the base, and where the
    variant misses most because nobody is in view."""
    run = run_of(results, compared + 1)
    before, after = (results.at("standing", variant=k) for k in (0, compared + 1))
    turned = (after == "weak") & (before != "weak") & (before != "no data")
    unseen = np.zeros(turned.shape[1], dtype=bool)
    for row, segment in zip(*np.nonzero(turned)):
        unseen[segment] |= leading_cause(run, int(row), int(segment))[0] == "not in view"
    sections = run_of(results, 0).sections
    return [code_of(run, sections, part[0], part[-1]) for part in touching_sets(unseen, *touching(sections))]
