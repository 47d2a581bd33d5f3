"""What a comparison says: metres of each verdict, weakest places, where one design takes over, and one plain sentence."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from fencecast.decide.compare.designs import as_run
from fencecast.decide.compare.paired import VERDICTS
from fencecast.estimate.places import code_of, segment_lengths, site_of, touching, whole, worst_first
from fencecast.estimate.results import Results
from fencecast.estimate.weakest import counted_classes, leading_cause, printed_numbers, touching_sets

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
    """A variant's weakest place: the lowest cell in a class with hours, with the numbers of its fresh crossings."""

    code: str
    weather: str
    segment: int
    pd: float
    low: float
    high: float


def metres_of(words, lengths) -> dict[str, float]:
    """Metres of each verdict of a comparison."""
    words = np.asarray(words)
    return {word: float(np.sum(lengths[words == word])) for word in VERDICTS}


def class_findings(results, compared: int) -> list[ClassFinding]:
    """Every weather class, in the base's own order of a run (worst first)."""
    lengths, standing = segment_lengths(results), results["standing"].values
    found = []
    for c in worst_first(as_run(results, 0)):
        before, after = standing[0, c.index], standing[compared + 1, c.index]
        found.append(
            ClassFinding(
                c.index,
                c.name,
                c.hours,
                c.years,
                metres_of(results["verdict"].values[compared, c.index], lengths),
                float(np.sum(lengths[(before == "weak") & (after == "meets")])),
                float(np.sum(lengths[(before == "meets") & (after == "weak")])),
                *(float(results[f"mean_difference{end}"].values[compared, c.index]) for end in ("", "_low", "_high")),
            )
        )
    return found


def year_metres(results, compared: int) -> dict[str, float]:
    """Metres of each verdict over the year, weather classes weighted by hours."""
    return metres_of(results["verdict_year"].values[compared], segment_lengths(results))


def lowest_of(results, variant: int) -> Lowest | None:
    """A variant's weakest place over the classes with hours; None when nothing was simulated."""
    run = Results.of(as_run(results, variant))
    pd = np.full(run["pd"].shape, np.inf)
    rows = counted_classes(run)
    pd[rows] = np.where(np.isnan(run["pd"].values[rows]), np.inf, run["pd"].values[rows])
    if np.isinf(pd).all():
        return None
    # Ranked by the fresh numbers where there are any: the lowest cell of every class has them.
    cells = [(printed_numbers(run, row, int(np.argmin(pd[row])))[0], row, int(np.argmin(pd[row]))) for row in rows]
    _, row, segment = min(cells)
    code = code_of(run, run.sections, segment, segment)
    return Lowest(code, str(run["weather"].values[row]), segment, *printed_numbers(run, row, segment)[:3])


def holm_metres(results, compared: int) -> tuple[float, float]:
    """Metres that are better, and worse, in some class by p-values adjusted for all cells together (Holm)."""
    lengths, rate = segment_lengths(results), 1.0 - float(results.attrs["confidence"])
    kept = results["pd_difference_p_holm"].values[compared] <= rate
    sign = results["pd_difference"].values[compared]
    return tuple(float(np.sum(lengths[(kept & (side * sign > 0.0)).any(axis=0)])) for side in (1, -1))


@dataclass(frozen=True)
class Takeover:
    """Where the difference changes its sign: `after` the last place decided one way, `before` the first decided the other way.

    at: where the estimates cross zero between them; up: from worse to better.
    """

    after: float
    at: float
    before: float
    up: bool


def takeovers(x, mean, low, high) -> list[Takeover]:
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


def plain_sentence(results, compared: int) -> str:
    """One finding in words: metres by verdict over the year, where the worse ones lie, what turns weak because nobody is seen."""
    names = [str(name) for name in results["variant"].values]
    base, name = names[0], names[compared + 1]
    metres = year_metres(results, compared)
    if not any(metres[word] for word in ("better", "worse", "undecided")):
        if not metres["equivalent"]:
            return f"Nothing was simulated for {base} and {name}."
        return f"{name} and {base} are equivalent on all {whole(metres['equivalent'])} m: {_margin_words(results)}."
    parts = [f"better on {whole(metres['better'])} m"]
    parts.append(f"worse on {whole(metres['worse'])} m{_near_words(results, compared)}")
    parts.append(f"undecided on {whole(metres['undecided'])} m")
    parts.append(f"equivalent on {whole(metres['equivalent'])} m ({_margin_words(results)})")
    said = f"{name} is {', '.join(parts)}."
    blind = newly_unseen(results, compared)
    if blind:
        codes = ", ".join(blind[:_NAMED]) + (f" and {len(blind) - _NAMED} more" if len(blind) > _NAMED else "")
        one = len(blind) == 1
        said += (
            f" With it {codes} {'turns' if one else 'turn'} weak because nobody there is in view: "
            f"{'this stretch needs' if one else 'each of these stretches needs'} another look, for instance one camera more."
        )
    return said


def _margin_words(results) -> str:
    return f"within ±{float(results.attrs['margin']):g}"


def _near_words(results, compared: int) -> str:
    """' close to the masts (within 9 m)' when all worse metres are nearer to a camera than half of the better ones."""
    words = results["verdict_year"].values[compared]
    worse, better = words == "worse", words == "better"
    if not worse.any():
        return ""
    site = site_of(as_run(results, compared + 1))
    masts = np.array([camera.position_m for camera in site.camera], dtype=float)
    at = np.column_stack([results["x_m"].values, results["y_m"].values])
    away = np.hypot(*(at[:, None, :] - masts[None]).transpose(2, 0, 1)).min(axis=1)
    middle = float(np.median(away[better])) if better.any() else math.inf
    if away[worse].max() < middle:
        return f" close to the masts (within {math.ceil(away[worse].max())} m)"
    if better.any() and away[worse].min() > middle:
        return f" far from the masts (beyond {math.floor(away[worse].min())} m)"
    return ""


def newly_unseen(results, compared: int) -> list[str]:
    """Place codes of touching segments that are weak with the variant in a class where they are not with the base, and where the
    variant misses most because nobody is in view."""
    run = Results.of(as_run(results, compared + 1))
    sections = run.sections
    standing = results["standing"].values
    turned = (standing[compared + 1] == "weak") & (standing[0] != "weak") & (standing[0] != "no data")
    unseen = np.zeros(turned.shape[1], dtype=bool)
    for row, segment in zip(*np.nonzero(turned)):
        unseen[segment] |= leading_cause(run, int(row), int(segment))[0] == "not in view"
    return [code_of(run, sections, part[0], part[-1]) for part in touching_sets(unseen, *touching(sections))]
