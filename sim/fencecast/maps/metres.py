"""From drawings as they were made, in degrees or metres, to metres of one site; with every doubt about where they lie."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np

from fencecast.errors import UsageError
from fencecast.maps.asked import Asked
from fencecast.maps.features import Drawing, Feature
from fencecast.maps.grid import Grid, default_origin
from fencecast.maps.limits import Unreadable
from fencecast.maps.locate import as_degrees, extent_fault, extent_m, far_from, middle_of, record_place
from fencecast.maps.recognise import Recognised
from fencecast.maps.rows import Report
from fencecast.site import Site

FAR_M = 10_000.0
SITE = "site"  # --crs site: metres of the plan itself


def in_metres(
    drawings: list[Drawing], found: list[Recognised], asked: Asked, old: Site | None, report: Report, name: str
) -> Grid | None:
    """Moves the points of `found` into metres of the site, in place, and returns the grid."""
    near, what = _near(asked, old)
    degrees: list[int] = []
    several = len(drawings) > 1
    for drawing in drawings:
        rows = [k for k, each in enumerate(found) if each.feature.file == drawing.file]
        crs = asked.crs if drawing.form in ("GeoJSON", "DXF") else ""
        if crs == SITE or (drawing.metres and not crs):
            continue
        try:
            moved, notes, wrong = as_degrees(drawing, [found[k].feature for k in rows], crs, asked.swap)
        except Unreadable as error:
            moved, notes, wrong = [], [], [(None, str(error))]
        head = f"{drawing.file}, " if several else ""
        report.notes += [f"{drawing.file}: {note}" for note in notes]
        report.wrong += [(key, head + words) for key, words in wrong]
        if len(moved) < len(rows):
            bad_here = {key for key, _ in wrong}
            if None in bad_here:
                continue
            rest = [k for k in rows if found[k].feature.key not in bad_here]
            moved, _, _ = as_degrees(drawing, [found[k].feature for k in rest], crs, asked.swap)
            rows = rest
        for k, feature in zip(rows, moved):
            found[k] = _with(found[k], feature)
        if moved:
            middle = middle_of(moved)
            fault = far_from(middle, near, what) if near is not None else ""
            if fault:
                report.wrong.append((None, head + fault))
            near, what = (middle, f"the drawing {drawing.file}") if near is None else (near, what)
        degrees += rows
    report.refuse(name, asked.leave_out, fatal_only=True)
    if degrees:
        fault = extent_fault(extent_m(np.vstack([found[k].feature.points for k in degrees])), True)
        report.wrong += [(None, fault)] if fault else []
        report.refuse(name, asked.leave_out, fatal_only=True)
    grid = _grid(asked, old, [found[k].feature for k in degrees])
    bad = {key for key, _ in report.wrong}
    in_degrees = set(degrees)
    of_a_plan = [k for k, each in enumerate(found) if k not in in_degrees and each.feature.key not in bad]
    if degrees and of_a_plan and not (asked.origin or (old is not None and old.map is not None)):
        report.wrong.append(
            (None, "drawings in degrees and drawings in metres need to know where x = 0, y = 0 lies: type --origin LAT,LON")
        )
    for k in degrees:
        feature = found[k].feature
        if grid is not None:
            found[k] = _with(found[k], feature.moved(grid.to_site(ring) for ring in feature.rings))
    if not degrees and asked.origin is None and (old is None or old.map is None):
        _nearer(found, report)
    placed = [each.feature.points for each in found if each.feature.key not in bad]
    if placed:
        fault = extent_fault(float(np.ptp(np.vstack(placed), axis=0).max()), False)
        if fault:
            report.wrong.append((None, fault))
    report.refuse(name, asked.leave_out, fatal_only=True)
    return grid


def _nearer(found: list[Recognised], report: Report) -> None:
    """Takes round thousands off the metres of plans whose origin is far away."""
    if not found:
        return
    points = np.vstack([each.feature.points for each in found])
    if float(np.abs(points).max()) > FAR_M:
        shift = np.floor(points.min(axis=0) / 1000.0) * 1000.0
        found[:] = [_with(each, each.feature.moved(ring - shift for ring in each.feature.rings)) for each in found]
        report.notes.append(f"coordinates are large: {shift[0]:,.0f}, {shift[1]:,.0f} m were taken off all points")


def _with(each: Recognised, feature: Feature) -> Recognised:
    return Recognised(feature, each.kind, each.by, each.word, each.guessed)


def _near(asked: Asked, old: Site | None) -> tuple[tuple[float, float] | None, str]:
    """Where the site should be, and who says so."""
    if asked.near is not None:
        return asked.near, "the place of --near"
    if old is not None:
        for table, words in ((old.map, "[map]"), (old.site, "[site]")):
            if table is not None and table.latitude is not None and table.longitude is not None:
                return (table.latitude, table.longitude), f"{words} of {asked.update}"
    if asked.weather_file is not None:
        place = record_place(Path(asked.weather_file))
        if place is not None:
            return place, f"the place of {os.path.basename(asked.weather_file)}"
    return None, ""


def _grid(asked: Asked, old: Site | None, features: list[Feature]) -> Grid | None:
    north, up = asked.grid_north_deg, asked.elevation_m
    if old is not None and old.map is not None:
        if asked.origin is not None or north is not None or up is not None:
            raise UsageError(
                f"{asked.update} has a [map] already: leave out --origin, --grid-north and --elevation, or change it there"
            )
        return Grid.of(old.map)
    if old is not None and features and asked.origin is None:
        raise UsageError(
            f"{asked.update} has no [map], so nobody knows where its metres lie: type --origin LAT,LON for its x = 0, y = 0, "
            "or place it first with --fit and a drawing of two of its points"
        )
    if asked.origin is None and not features:
        if north is not None or up is not None:
            raise UsageError("--grid-north and --elevation need a place: type --origin LAT,LON too")
        return None
    origin = asked.origin if asked.origin is not None else default_origin(np.vstack([ring for f in features for ring in f.rings]))
    return Grid(origin[0], origin[1], north or 0.0, up or 0.0)
