"""What the statistical and the reproducibility tests share: a small site as a dict to change, and crossings one by one.

Nothing here judges. A single crossing is a job of the product's kernel with one point, so its sums are that crossing's
own probabilities; two designs that see the same crossings can then be compared crossing by crossing, without chance.
"""

from __future__ import annotations

import copy
from dataclasses import dataclass
from pathlib import Path

import numpy as np

import fencecast as fc
from fencecast.kernels.crossing import SUM_CAMERA, run_jobs
from fencecast.kernels.pack import pack_cells, pack_plan
from fencecast.kernels.work import MAX_LOOKS
from fencecast.sampling.sobol import combine_keys, hashed_unit, owen_scramble, sobol_table, to_unit
from fencecast.sampling.variables import CAMERA_VARIABLES, SITE_VARIABLES, camera_keys, variable_keys

DATA = Path(__file__).parents[1] / "data"
ROWS = ("pd", "in_view", "resolved", "confirmed", "depth", "delay")  # the kernel's first columns, in its order

CLEAR_COLD = {
    "name": "clear cold night",
    "hours_per_year": 1000,
    "air_temperature_c": -5.0,
    "relative_humidity": 0.75,
    "ground_minus_air_k": -2.0,
}
BASE = {
    "schema": 2,
    "title": "Trial site",
    "seed": 7,
    "site": {"ground": "gravel", "segment_length_m": 4.0},
    "perimeter": [{"name": "fence", "points_m": [[0.0, 0.0], [40.0, 0.0]], "inside": "left"}],
    "sensors": {"core": {"columns": 160, "rows": 120, "pitch_um": 17.0, "netd_mk": 50.0}},
    "lenses": {"wide": {"focal_length_mm": 3.0, "f_number": 1.0}, "long": {"focal_length_mm": 6.0, "f_number": 1.0}},
    "camera": [
        {"mark": "W", "position_m": [0.0, 1.0], "height_m": 4.0, "bearing_deg": 90.0, "depression_deg": 14.0, "sensor": "core"}
        | {"lens": "wide"},
        {"mark": "E", "position_m": [40.0, 1.5], "height_m": 4.0, "bearing_deg": 268.0, "depression_deg": 10.0, "sensor": "core"}
        | {"lens": "long"},
    ],
    "rule": [{"kind": "line", "perimeter": "fence", "offset_m": 1.0}],
    "weather": [CLEAR_COLD],
}


def base() -> dict:
    """A fence of 40 m without a barrier, two cameras that look along it, one clear cold night; a copy to change."""
    return copy.deepcopy(BASE)


def one_camera(distance_m: float, **camera) -> dict:
    """One camera at the origin that looks east; a segment of 1 m on its axis, `distance_m` away, crossed northwards."""
    table = base()
    table["site"]["segment_length_m"] = 1.0
    table["perimeter"] = [fence("line", [[distance_m - 0.5, 0.0], [distance_m + 0.5, 0.0]])]
    table["camera"] = [table["camera"][0] | {"position_m": [0.0, 0.0]} | camera]
    table["rule"] = [{"kind": "line", "points_m": [[-20.0, 0.0], [distance_m + 60.0, 0.0]]}]
    return table


def fence(name: str, points: list, **keys) -> dict:
    return {"name": name, "points_m": points, "inside": "left"} | keys


@dataclass
class Crossings:
    """Single crossings of one site: rows (cells, points, columns of the kernel); cells class by class, as in results."""

    rows: np.ndarray
    marks: list[str]

    def __getattr__(self, name):
        if name in ROWS:
            return self.rows[:, :, ROWS.index(name)]
        raise AttributeError(name)

    def camera(self, mark: str) -> np.ndarray:
        return self.rows[:, :, SUM_CAMERA + self.marks.index(mark)]


def crossings(site, points: int, seed: int | None = None, cells=None, replicate: int = 0, purpose: str = "main") -> Crossings:
    """The first `points` crossings of one scrambling, one by one, in every cell (or those listed)."""
    site = fc.Site(**copy.deepcopy(site)) if isinstance(site, dict) else site
    plan = pack_plan(site)
    strata = pack_cells(site, site.seed if seed is None else seed, purpose=purpose)
    cells = np.arange(len(strata.weather)) if cells is None else np.asarray(cells)
    cell = np.repeat(cells, points).astype(np.int64)
    first = np.tile(np.arange(points, dtype=np.int64), len(cells))
    marks = [camera.mark for camera in site.camera]
    sums = np.zeros((len(cell), SUM_CAMERA + len(marks)))
    table = sobol_table(1 << max(points - 1, 1).bit_length(), len(SITE_VARIABLES))
    copies = np.full(len(cell), replicate, dtype=np.int64)
    run_jobs(plan, strata, variable_keys(), table, cell, copies, first, first + 1, 1.0, MAX_LOOKS, sums)
    return Crossings(sums.reshape(len(cells), points, -1), marks)


def drawn_shares(cell_key: int, marks: list[str], point: int, replicate: int = 0):
    """The draws of one crossing as shares in (0, 1): ({site variable: share}, {(camera variable, mark): share})."""
    stratum = np.uint64(combine_keys(np.uint64(cell_key), np.uint64(replicate)))
    table = sobol_table(1 << max(point, 1).bit_length(), len(SITE_VARIABLES))[point]
    site = {}
    for fraction, name, key in zip(table, SITE_VARIABLES, variable_keys()):
        scrambled = owen_scramble(np.uint32(fraction), np.uint64(combine_keys(stratum, key)))
        site[name] = to_unit(np.uint64(scrambled))
    draw = np.uint64(combine_keys(stratum, np.uint64(point)))
    keys = camera_keys(tuple(marks))
    camera = {
        (name, mark): hashed_unit(keys[row, column], draw)
        for row, mark in enumerate(marks)
        for column, name in enumerate(CAMERA_VARIABLES)
    }
    return site, camera
