"""What a remedy is told by: its numbers, without its site, and how results keep them (`run --remedy`)."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from typing import Any

import numpy as np
import xarray as xr

REMEDY_MEANINGS = {
    "remedy": ("1", "the site as it is, then after the first change of the remedy, after the first two, and so on"),
    "pd_remedy": ("1", "probability that one crossing raises an alarm after these changes, on the same fresh crossings for each"),
    "pd_remedy_low": ("1", "lower end of its interval at the file's confidence"),
    "pd_remedy_high": ("1", "upper end of its interval at the file's confidence"),
}


@dataclass(frozen=True)
class RemedyStep:
    """One change: words, kind ("rule", "turned", "lens", "height" or "new"), cost (None without prices). Metres weak before and
    after: weak_m in the class of the headline, fence_m each segment in its worst class, most_m in most_in, which gains most."""

    words: str
    kind: str
    cost: float | None
    weak_m: tuple[float, float]
    fence_m: tuple[float, float]
    most_in: str
    most_m: tuple[float, float]


@dataclass(frozen=True)
class RemedyFacts:
    """The way to a site that meets, and what it brings on crossings that chose nothing: before and after on the same ones.

    steps in order; words of all of them, kind of the first; mends: every metre meets it; cost None without prices; (pd, low,
    high) of the lowest cell; worst: the class of the headline, weak_m, undecided_m: metres in it before and after; fence_m:
    metres weak, each segment in its worst class; place, segment (its index) and weather of the lowest cell before.
    """

    words: str
    kind: str
    mends: bool
    cost: float | None
    place: str
    weather: str
    before: tuple[float, float, float]
    at_place: tuple[float, float, float]
    after: tuple[float, float, float]
    worst: str
    weak_m: tuple[float, float]
    undecided_m: tuple[float, float]
    fence_m: tuple[float, float]
    tried: int
    assumed: tuple[str, ...]
    steps: tuple[RemedyStep, ...]
    segment: int = -1


@dataclass(frozen=True, eq=False)
class RemedyCells:
    """Every cell on the crossings that chose nothing: names of the classes, Pd and half width (1 + steps, classes, segments)."""

    classes: tuple[str, ...]
    pd: np.ndarray
    half: np.ndarray


def facts_object(remedy: RemedyFacts | None) -> dict[str, Any] | None:
    """The plain values of a remedy, for JSON; None for none."""
    if remedy is None:
        return None
    kept = {each.name: getattr(remedy, each.name) for each in fields(RemedyFacts)}
    return {**kept, "steps": [asdict(step) for step in remedy.steps]}


def keep_remedy(results: xr.Dataset, remedy: RemedyFacts | None, cells: RemedyCells | None = None) -> None:
    """Puts what was found into results: attribute `remedy_found` (JSON; null when a remedy was asked for and nothing helped) and,
    with cells, `pd_remedy` (remedy, weather, segment), NaN in classes that were not looked at."""
    results.attrs["remedy_found"] = json.dumps(facts_object(remedy))
    if remedy is None or cells is None:
        return
    names = [str(name) for name in results["weather"].values]
    numbers = {"pd_remedy": cells.pd, "pd_remedy_low": cells.pd - cells.half, "pd_remedy_high": cells.pd + cells.half}
    results.coords["remedy"] = np.array(["as it is", *(f"after change {k + 1}" for k in range(len(cells.pd) - 1))])
    results["remedy"].attrs["long_name"] = REMEDY_MEANINGS["remedy"][1]
    for name, found in numbers.items():
        values = np.full((len(cells.pd), len(names), results.sizes["segment"]), np.nan)
        values[:, [names.index(each) for each in cells.classes]] = np.clip(found, 0.0, 1.0)
        results[name] = (("remedy", "weather", "segment"), values)
        unit, meaning = REMEDY_MEANINGS[name]
        results[name].attrs |= {"units": unit, "long_name": meaning}


def kept_remedy(attrs: Mapping[str, Any]) -> RemedyFacts | None:
    """The remedy that results keep; None without one. Those of an older version keep its steps alone and give none."""
    found = json.loads(str(attrs.get("remedy_found", "null")))
    if found is None:
        return None
    pairs = {key: tuple(value) if isinstance(value, list) else value for key, value in found.items() if key != "steps"}
    steps = tuple(RemedyStep(**{k: tuple(v) if isinstance(v, list) else v for k, v in step.items()}) for step in found["steps"])
    return RemedyFacts(**pairs, steps=steps)
