"""Pd of every segment as lines beside the fence, for a map: in GeoJSON as data, in KML as coloured bands."""

from __future__ import annotations

import math
import re

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
    shown = [_shown(results, weather, i) for i in range(len(codes))]
    things = []
    for section in sections:
        for i in range(section.first, section.stop):
            keys: dict[str, object] = {
                "place": codes[i],
                "section": section.name,
                "from_m": float(start[i]),
                "to_m": float(end[i]),
            }
            keys |= shown[i] | _every_class(results, i) | {"pd_year": float(results["pd_year"].values[i])}
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


def _shown(results: Results, weather: str, i: int) -> dict[str, object]:
    """Pd, interval, verdict, cause and best camera of a segment, in the class that was asked for."""
    if weather == YEAR:
        values = {key: float(results[f"{key.replace('pd', 'pd_year')}"].values[i]) for key in ("pd", "pd_low", "pd_high")}
        return {**values, "verdict": str(results.year_verdicts[i]), "cause": None, "weather": YEAR, "best_camera": None}
    name = str(results["worst_weather"].values[i]) if weather == WORST else weather
    if name not in results.classes:
        nothing = dict.fromkeys(("pd", "pd_low", "pd_high"), math.nan)
        return {**nothing, "verdict": "no data", "cause": None, "weather": None, "best_camera": None}
    row = results.classes.index(name)
    keys = _of_class(results, row, i)
    misses = results.at("miss_share", weather=row, segment=i)
    alone = results.at("pd_camera", weather=row, segment=i)
    known = not math.isnan(float(keys["pd"]))  # type: ignore[arg-type]
    cause = str(results["cause"].values[int(np.nanargmax(misses))]) if known and float(np.nanmax(misses)) > 0.0 else None
    best = results.marks[int(np.nanargmax(alone))] if known and len(alone) and float(np.nanmax(alone)) > 0.0 else None
    return {**keys, "cause": cause, "weather": name, "best_camera": best}


def _of_class(results: Results, row: int, i: int) -> dict[str, object]:
    found = {key: results.at(key, weather=row, segment=i) for key in _CLASS_KEYS}
    return {key: str(value) if key == "verdict" else float(value) for key, value in found.items()}


def _every_class(results: Results, i: int) -> dict[str, object]:
    return {
        f"{re.sub(r'[^A-Za-z0-9]+', '_', name).strip('_')}_{key}": value
        for row, name in enumerate(results.classes)
        for key, value in _of_class(results, row, i).items()
    }
