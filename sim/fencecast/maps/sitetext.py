"""The text of a new site file: tables in the order of the pages, with `# check this` behind every value that was not drawn."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from fencecast.maps import defaults
from fencecast.maps.features import clean_name
from fencecast.maps.making import Making
from fencecast.maps.rows import MARK, Row, key_line, table_text

if TYPE_CHECKING:
    from fencecast.maps.asked import Asked

_ORDER = ("perimeter", "obstacle", "land", "camera", "mounting", "rule")
_COMMENTS = {
    "perimeter": "# The fence. Each section runs the way it was drawn.",
    "camera": "# Cameras. Places belong measured: a picture of the map is off by decimetres and more.",
}


def site_text(making: Making, asked: Asked, title: str, files: Sequence[str]) -> str:
    """A complete file that `run` accepts."""
    place = [] if asked.no_location else [f" {Path(file).name}" for file in files]
    lines = [f"# Made by fencecast from-map{' from' + ','.join(place) if place else ''}. Lines with `{MARK}` were not drawn.\n"]
    top = {"schema": 2, "title": clean_name(title) or "Yard"}
    lines.append("\n".join(key_line(key, value, {"title": ""} if key == "title" else {}) for key, value in top.items()) + "\n")
    rows = [*_single_rows(making, asked), *_in_order(making)]
    for row in rows:
        first = row.table in _COMMENTS and row is next(each for each in rows if each.table == row.table)
        lines.append(f"{_COMMENTS[row.table]}\n{table_text(row)}" if first else table_text(row))
    lines.append(_weather(asked))
    for row in rows:
        making.report.checks += [(row.where, key, why) for key, why in row.unsure.items()]
    making.report.checks.append(("", "title", ""))
    if asked.weather_file is None:
        making.report.checks += list(defaults.WEATHER_CHECKS)
    return "\n".join(lines)


def _single_rows(making: Making, asked: Asked) -> list[Row]:
    site: dict[str, object] = {"ground": defaults.GROUND}
    rows = [Row("requirement", None, dict(defaults.REQUIREMENT), {"pd": ""})]
    if making.grid is not None and asked.no_location:
        site["latitude"] = float(round(making.grid.latitude)) + 0.0
    rows.append(Row("site", None, site, {"ground": ""}))
    if making.grid is not None and not asked.no_location:
        keys: dict[str, object] = {"latitude": round(making.grid.latitude, 9), "longitude": round(making.grid.longitude, 9)}
        if making.grid.grid_north_deg:
            keys["grid_north_deg"] = making.grid.grid_north_deg
        if making.grid.elevation_m:
            keys["elevation_m"] = making.grid.elevation_m
        rows.append(Row("map", None, keys))
    return rows


def _in_order(making: Making) -> list[Row]:
    by = {table: [row for row in making.rows if row.table == table] for table in _ORDER}
    sensors = list(dict.fromkeys(str(row.keys["sensor"]) for row in by["camera"])) or [defaults.SENSOR_NAME]
    lenses = list(dict.fromkeys([*defaults.LENSES, *(str(row.keys["lens"]) for row in by["camera"])]))
    rows = [*by["perimeter"], *by["obstacle"], *by["land"], *defaults.parts_rows(sensors, lenses)]
    return [*rows, *by["camera"], *by["mounting"], *by["rule"]]


def _weather(asked: Asked) -> str:
    if asked.weather_file is None:
        return defaults.WEATHER
    home = os.path.realpath(Path(asked.output).parent)
    record = Path(asked.weather_file)
    path = Path(os.path.relpath(os.path.realpath(record.parent), home)) / record.name
    rows = [
        Row("weather_file", None, {"path": path.as_posix()}),
        Row("armed", None, {"hours": list(defaults.ARMED_HOURS)}, {"hours": "when the system watches"}),
    ]
    return "\n".join(table_text(row) for row in rows)
