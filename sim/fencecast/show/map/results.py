"""Pd of every segment as lines beside the fence, for a map: in GeoJSON as data, in KML as coloured bands."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

import numpy as np
import xarray as xr

from fencecast.estimate.places import runs_of
from fencecast.estimate.results import Results
from fencecast.maps.features import LINE
from fencecast.maps.things import Thing, stretch
from fencecast.show.fence.band import Band
from fencecast.show.paper import style

INNER_M, OUTER_M = 0.3, 2.3
YEAR, WORST = "year", "worst"
_CLASS_KEYS = ("pd", "pd_low", "pd_high", "verdict")


def result_things(results: Results | xr.Dataset, weather: str = WORST) -> list[Thing]:
    """A line for each segment with Pd in one class, in the worst of each segment, or over the year; and lines of verdicts."""
    results = Results.of(results)
    site, sections = results.site, results.sections
    perimeters = {p.name: p for p in site.perimeter}
    band = Band(site, sections, lambda x, y: np.array([x, -y]))
    ramp = style.fence7(results.requirement)
    steps = {colour: f"pd{k}" for k, colour in enumerate(ramp.colours)}
    start, end = results["segment_start_m"].values, results["segment_end_m"].values
    codes = [str(code) for code in results["segment"].values]
    numbers = _Numbers.of(results)
    shown = [numbers.shown(weather, i) for i in range(len(codes))]
    things = []
    for section in sections:
        for i in range(section.first, section.stop):
            keys: dict[str, object] = {
                "place": codes[i],
                "section": section.name,
                "from_m": float(start[i]),
                "to_m": float(end[i]),
            }
            keys |= shown[i] | numbers.every_class(i) | {"pd_year": float(numbers.year["pd_year"][i])}
            pd = shown[i]["pd"]
            known = isinstance(pd, float) and not math.isnan(pd)
            quads = tuple(_metres(q) for q in band.quads(section.index, float(start[i]), float(end[i]), INNER_M, OUTER_M))
            look = steps[ramp.colour(float(pd))] if known else "nodata"  # type: ignore[arg-type]
            line = stretch(perimeters[section.name], float(start[i]), float(end[i]))
            things.append(Thing("result", _name(codes[i], shown[i]), LINE, (line,), keys, "results", look, quads))
    for run in runs_of([str(each["verdict"]) for each in shown], sections):
        if run.verdict in ("weak", "undecided"):
            ends = float(start[run.first]), float(end[run.stop - 1])
            line = _metres(band.path(run.section, *ends, OUTER_M))
            name = f"{codes[run.first].split(' ')[0]} {ends[0]:.0f}-{ends[1]:.0f} m {run.verdict}"
            things.append(Thing("result", name, LINE, (line,), {"verdict": run.verdict}, "results", run.verdict, kml_only=True))
    return things


def styles(requirement: float) -> dict[str, dict[str, object]]:
    """Looks of KML: the ramp of the pictures, dark lines for verdicts, quiet ones for the rest."""
    looks: dict[str, dict[str, object]] = {
        f"pd{k}": {"fill": colour, "opacity": 0.95} for k, colour in enumerate(style.fence7(requirement).colours)
    }
    return looks | {
        "nodata": {"fill": style.LINE, "opacity": 0.3},
        "weak": {"line": style.INK, "width": 4},
        "undecided": {"line": style.LINE, "width": 3},
    }


def design_styles() -> dict[str, dict[str, object]]:
    """Looks of what stands on the site, with no colour of the ramp in them."""
    return {
        "fence": {"line": style.INK, "width": 2},
        "gate": {"line": style.PAPER, "width": 4},
        "building": {"line": style.SECOND, "width": 1, "fill": style.BUILDING, "opacity": 0.6},
        "camera": {},
        "rule": {"line": style.A_COLOUR, "width": 1, "fill": style.A_COLOUR, "opacity": 0.1},
        "mounting": {"line": style.B_COLOUR, "width": 2},
        "view": {"fill": style.A_COLOUR, "opacity": 0.25},
        "blind": {"fill": style.INK, "opacity": 0.4},
    }


def _metres(points: np.ndarray) -> np.ndarray:
    """From a page whose y runs downwards back to the site."""
    return np.asarray(points) * np.array([1.0, -1.0])


def _name(code: str, shown: dict[str, object]) -> str:
    pd, low, high = (shown[key] for key in ("pd", "pd_low", "pd_high"))
    if not isinstance(pd, float) or math.isnan(pd):
        return f"{code}  no data"
    return f"{code}  {pd:.2f} ({low:.2f} to {high:.2f}) {shown['verdict']}"


@dataclass(frozen=True)
class _Numbers:
    """What is said of segments, as arrays: of each class (weather, segment), misses (weather, cause, segment), and each camera
    alone (camera, weather, segment)."""

    results: Results
    of_class: dict[str, np.ndarray]
    year: dict[str, np.ndarray]
    misses: np.ndarray
    alone: np.ndarray
    worst: list[str]
    causes: list[str]

    @classmethod
    def of(cls, results: Results) -> _Numbers:
        return cls(
            results,
            {key: results.array(key, "weather", "segment") for key in _CLASS_KEYS},
            {key: results.array(key, "segment") for key in ("pd_year", "pd_year_low", "pd_year_high")},
            results.array("miss_share", "weather", "cause", "segment"),
            results.array("pd_camera", "camera", "weather", "segment"),
            [str(name) for name in results["worst_weather"].values],
            [str(cause) for cause in results["cause"].values],
        )

    def shown(self, weather: str, i: int) -> dict[str, object]:
        """Pd, interval, verdict, cause and best camera of a segment, in the class that was asked for."""
        if weather == YEAR:
            values = {key.replace("_year", ""): float(array[i]) for key, array in self.year.items()}
            rest = {"cause": None, "weather": YEAR, "best_camera": None}
            return {**values, "verdict": str(self.results.year_verdicts[i]), **rest}
        name = self.worst[i] if weather == WORST else weather
        if name not in self.results.classes:
            nothing = dict.fromkeys(("pd", "pd_low", "pd_high"), math.nan)
            return {**nothing, "verdict": "no data", "cause": None, "weather": None, "best_camera": None}
        row = self.results.classes.index(name)
        keys = self.in_class(row, i)
        cause = best = None
        if not math.isnan(float(self.of_class["pd"][row, i])):
            misses, alone = self.misses[row, :, i], self.alone[:, row, i]
            cause = self.causes[int(np.nanargmax(misses))] if np.nanmax(misses) > 0.0 else None
            best = self.results.marks[int(np.nanargmax(alone))] if len(alone) and np.nanmax(alone) > 0.0 else None
        return {**keys, "cause": cause, "weather": name, "best_camera": best}

    def in_class(self, row: int, i: int) -> dict[str, object]:
        """Pd, interval and verdict in one class."""
        return {key: str(v[row, i]) if key == "verdict" else float(v[row, i]) for key, v in self.of_class.items()}

    def every_class(self, i: int) -> dict[str, object]:
        """The same of all classes, each key with the class in front."""
        return {
            f"{re.sub(r'[^A-Za-z0-9]+', '_', name).strip('_')}_{key}": value
            for row, name in enumerate(self.results.classes)
            for key, value in self.in_class(row, i).items()
        }
