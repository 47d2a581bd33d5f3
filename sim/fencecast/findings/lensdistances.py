"""The table of distances: from where to where each lens reaches the requirement, and how a data sheet's range shrinks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from fencecast.camera import image_geometry
from fencecast.estimate.distance import lens_cameras
from fencecast.estimate.places import worst_first
from fencecast.estimate.results import Results
from fencecast.findings.blocks import LEFT, NOTE, RIGHT, Block, Heading, Line, Table
from fencecast.findings.calibration import calibration_of
from fencecast.findings.lenstitles import spans_in
from fencecast.findings.ranges import alarm_words
from fencecast.findings.spans import End, Span
from fencecast.findings.words import confidence_text, metres_text, requirement_text
from fencecast.lensranges import sheet_ranges

BRIDGE_HEADING = "From a data sheet's range to a simulated one"


@dataclass(frozen=True)
class BridgeRow:
    """One lens: its name, and each step's heading with its range in words."""

    lens: str
    cells: tuple[tuple[str, str], ...]


def lens_spans(results: Results) -> list[tuple[str, str, tuple[Span, ...] | None]]:
    """Lens, class and stretches of every curve: lens by lens, classes worst first; stretches None without data."""
    lenses = [str(name) for name in results["lens"].values]
    return [(name, c.name, spans_in(results, k, c.index)) for k, name in enumerate(lenses) for c in worst_first(results)]


def distance_object(results: Results) -> dict[str, Any]:
    """`distances` and `data_sheet` of `run --json`: every end in metres with its interval, and the steps of each lens."""
    if "pd_distance" not in results:
        return {}
    distances = results.array("distance", "distance").astype(float)
    rows = [
        {
            "lens": lens,
            "weather": weather,
            "stretches": None if spans is None else [_stretch(span, distances) for span in spans],
        }
        for lens, weather, spans in lens_spans(results)
    ]
    return {"distances": rows, "data_sheet": dict(_steps(results))}


def _stretch(span: Span, distances: np.ndarray) -> dict[str, Any]:
    start, end = span.metres(distances)
    return {
        "from_m": start,
        "from_interval_m": _interval(span.near),
        "to_m": end,
        "to_interval_m": _interval(span.far),
        "nearer_than_simulated": span.near is None,
        "beyond_simulated": span.far is None,
        "undecided": not span.shown,
    }


def _interval(end: End | None) -> list[float | None] | None:
    return None if end is None else [None if np.isnan(v) else v for v in (end.low_m, end.high_m)]


def _steps(results: Results) -> list[tuple[str, dict[str, Any]]]:
    """Each lens in use with its ranges on paper [m] and the farthest simulated distances of its best and worst class."""
    site, found = results.site, []
    distances = results.array("distance", "distance").astype(float)
    for camera in lens_cameras(site):
        ifov_rad = image_geometry(site.sensors[camera.sensor], site.lenses[camera.lens]).ifov_rad
        steps = sheet_ranges(site, ifov_rad)
        steps["simulated"] = _extremes(results, camera.lens, distances)
        found.append((camera.lens, steps))
    return found


def _extremes(results: Results, lens: str, distances: np.ndarray) -> list[dict[str, Any]]:
    """The classes in which a lens reaches farthest and least far: name, metres (0 for nowhere) and whether beyond the axis."""
    found = []
    counted = {c.name for c in worst_first(results) if c.hours > 0}
    for name, weather, spans in lens_spans(results):
        if name == lens and spans is not None and (weather in counted or not counted):
            far = max((span.metres(distances)[1] for span in spans), default=0.0)
            found.append({"weather": weather, "to_m": far, "beyond_simulated": any(span.far is None for span in spans)})
    if not found:
        return []
    return [max(found, key=lambda each: each["to_m"]), min(found, key=lambda each: each["to_m"])]


def bridge_rows(results: Results, shown: Sequence[str]) -> list[BridgeRow]:
    """The steps of some lenses (by name) in words, a row for each."""
    site, units, rows = results.site, results.units, []
    # Data sheets know nothing of an N50 that walks on this site gave.
    walked = calibration_of(results.attrs)
    first = "data sheet: 50 % of looks" if walked is None else f"50 % of looks, at N50 {site.decision.cycles_50.middle():.1f}"
    for name, steps in _steps(results):
        if name not in shown:
            continue
        cells = [
            (first, metres_text(steps["range_50_m"], units)),
            ("90 % of looks", metres_text(steps["range_90_m"], units)),
            (alarm_words(*site.decision.confirm), metres_text(steps["range_alarm_90_m"], units)),
            (f"the same, {steps['smallest_gait']}", metres_text(steps["range_alarm_90_smallest_m"], units)),
        ]
        for each, which in zip(steps["simulated"], ("best", "worst")):
            far = "nowhere" if each["to_m"] == 0.0 else metres_text(each["to_m"], units)
            cells.append((f"simulated, {which} class", f"beyond {far}" if each["beyond_simulated"] else far))
        rows.append(BridgeRow(_lens_text(results, name), tuple(cells)))
    return rows


def _lens_text(results: Results, name: str) -> str:
    """'long, 6 mm'."""
    return f"{name}, {results.site.lenses[name].focal_length_mm:g} mm"


def distance_blocks(results: Results) -> list[Block]:
    """The report of `run`: distances by lens and class with intervals, then the steps from a data sheet's range."""
    if "pd_distance" not in results:
        return []
    need, distances = requirement_text(results.requirement), results.array("distance", "distance").astype(float)
    rows: list[list[str]] = []
    last = ""
    for lens, weather, spans in lens_spans(results):
        head = "" if lens == last else _lens_text(results, lens)
        last = lens
        for k, (start, end, verdict) in enumerate(_cells(spans, distances)):
            rows.append([head if k == 0 else "", weather if k == 0 else "", start, end, verdict])
    columns = [("lens", LEFT), ("class", LEFT), ("from, m", RIGHT), ("to, m", RIGHT), ("", LEFT)]
    blocks: list[Block] = [
        Heading(f"How far: ground distances at which a single camera reaches {need}"),
        Table.of(columns, rows),
        Line(
            f"Crossings on its axis, without a fence; interpolated, with the {confidence_text(results.confidence)} interval of "
            f"each end; simulated from {distances[0]:g} to {distances[-1]:g} m.",
            NOTE,
        ),
    ]
    lenses = [str(name) for name in results["lens"].values]
    bridge = bridge_rows(results, lenses)
    if bridge:
        steps = [[head, *(row.cells[k][1] for row in bridge)] for k, (head, _) in enumerate(bridge[0].cells)]
        blocks += [
            Heading(BRIDGE_HEADING),
            Table.of([("step", LEFT), *((row.lens, RIGHT) for row in bridge)], steps),
            Line(
                "The first four on paper: full contrast, on the axis, looks independent, a person of 1.8 x 0.5 m, then the "
                f"smallest posture of the site crossing the view. Simulated: {need} for an alarm, all intruders of the site, in "
                "weather.",
                NOTE,
            ),
        ]
    return blocks


def _cells(spans: tuple[Span, ...] | None, distances: np.ndarray) -> list[tuple[str, str, str]]:
    """From, to and a remark of each stretch: '6.2 (6.0 to 6.5)', 'beyond 120', 'nowhere'."""
    if spans is None:
        return [("no data", "", "")]
    if not spans:
        return [("nowhere", "", "")]
    return [
        (
            f"under {distances[0]:g}" if span.near is None else _end_text(span.near),
            f"beyond {distances[-1]:g}" if span.far is None else _end_text(span.far),
            "" if span.shown else "undecided",
        )
        for span in spans
    ]


def _end_text(end: End) -> str:
    """'29.3 (28.1 to 30.2)'; an end of the interval that is not known is a question mark."""
    low, high = ("?" if np.isnan(v) else f"{v:.1f}" for v in (end.low_m, end.high_m))
    return f"{end.place_m:.1f} ({low} to {high})"
