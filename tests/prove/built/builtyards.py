"""Cameras whose marks are made by other trigonometry than the product's: turns about single axes by scipy, one after another."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
from scipy.spatial.transform import Rotation

from fencecast.camera import ImageGeometry
from fencecast.prove.built.pose import Errors, Marks, Pose, solve_all
from prove.aimyards import camera, yard

THREE_MM, SIX_MM = (ImageGeometry(f * 1e-3 / 17e-6, 0, 160, 120) for f in (3.0, 6.0))
FISH = ImageGeometry(3e-3 / 17e-6, 1, 160, 120)
# Across and ahead of the camera [m].
BOX4 = ((-3.0, 7.0), (3.0, 7.0), (-10.0, 22.0), (10.0, 22.0))
BOX6 = (*BOX4, (0.0, 12.0), (0.0, 30.0))
WIDE3 = ((0.0, 7.0), (-9.0, 20.0), (9.0, 20.0))
# Well inside the frame, for cameras that are turned by degrees.
YARD3 = ((0.0, 8.0), (-6.0, 20.0), (6.0, 20.0))
YARD4 = ((-3.0, 8.0), (3.0, 8.0), (-6.0, 22.0), (6.0, 22.0))
YARD6 = (*YARD4, (0.0, 12.0), (0.0, 30.0))
NARROW4 = ((-1.5, 12.0), (1.5, 12.0), (-4.0, 24.0), (4.0, 24.0))  # of a 6 mm lens


def turn_of(bearing_deg: float, depression_deg: float, roll_deg: float) -> np.ndarray:
    """Rotation from (east, north, up) to (right, down, ahead), as three turns of a camera that first looks level north."""
    level_north = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, -1.0], [0.0, 1.0, 0.0]])
    about_up = Rotation.from_euler("z", bearing_deg, degrees=True).as_matrix()
    nod = Rotation.from_euler("x", depression_deg, degrees=True).as_matrix()
    lean = Rotation.from_euler("z", -roll_deg, degrees=True).as_matrix()
    return lean @ nod @ level_north @ about_up


def seen(place, image: ImageGeometry, at, bearing_deg: float, depression_deg: float, roll_deg: float) -> np.ndarray:
    """Columns and rows (n, 2) of places (n, 3) to a camera at `at` (x, y, height)."""
    rays = (np.asarray(place, dtype=float) - at) @ turn_of(bearing_deg, depression_deg, roll_deg).T
    if image.projection == 0:
        offset = image.focal_px * rays[:, :2] / rays[:, 2:]
    else:
        radius = np.linalg.norm(rays[:, :2], axis=1)
        offset = rays[:, :2] * (image.focal_px * np.arctan2(radius, rays[:, 2]) / radius)[:, None]
    return offset + (0.5 * image.columns, 0.5 * image.rows)


def places(across_ahead, bearing_deg: float = 0.0, at=(0.0, 0.0)) -> np.ndarray:
    """Ground points (n, 3) from how far they lie across and ahead of a camera's bearing."""
    b = math.radians(bearing_deg)
    return np.array([(at[0] + a * math.cos(b) + d * math.sin(b), at[1] - a * math.sin(b) + d * math.cos(b), 0.0)
                     for a, d in across_ahead])  # fmt: skip


def design(bearing_deg: float, depression_deg: float, roll_deg: float = 0.0, height_m: float = 4.0, x=0.0, y=0.0) -> np.ndarray:
    return np.array([*np.radians([bearing_deg, depression_deg, roll_deg]), height_m, x, y])


def read_once(
    random, image: ImageGeometry, across_ahead, roll_sd: float = 2.0, mast_sd: float = 0.0
) -> tuple[Marks, np.ndarray, float, np.ndarray]:
    """One installation of a camera designed at bearing 35, depression 15, 4 m up, and its whole-pixel readings.

    Returns marks, the design, the tape's height, and the true pose (6,) in radians and metres.
    """
    place = places(across_ahead, 35.0)
    true = design(35.0 + random.normal(0.0, 1.5), 15.0 + random.normal(0.0, 1.5), random.normal(0.0, roll_sd))
    true[4:] = mast_sd * random.normal(size=2)
    stood = place + np.array([0.03, 0.03, 0.0]) * random.normal(size=place.shape)
    exact = seen(stood, image, (*true[4:], 4.0), *np.degrees(true[:3]))
    read = np.floor(exact + random.normal(0.0, 1.0, exact.shape)) + 0.5
    return Marks(place, read), design(35.0, 15.0), 4.0 + random.normal(0.0, 0.05), true


def solved(random, image: ImageGeometry, across_ahead, times: int, **how: float) -> tuple[list[Pose], np.ndarray]:
    """So many installations, solved together: their poses, and the true ones (times, 6)."""
    errors = Errors()
    marks, drawn, tape, true = zip(*(read_once(random, image, across_ahead, **how) for _ in range(times)))
    sd = np.array([errors.of_readings(m.place, d, t, image) for m, d, t in zip(marks, drawn, tape)])
    place, read = np.array([each.place for each in marks]), np.array([each.read for each in marks])
    poses = solve_all(place, read, sd, image, np.array(drawn), np.array(tape), errors)
    return [pose for pose in poses if pose is not None], np.array(true)


# --- files ---------------------------------------------------------------------------------------------------------

HEADS = "camera,mark,x_m,y_m,z_m,expected_column,expected_row,column,row,height_m,note"
AIMS = {"K1": 35.0, "K2": 300.0, "K3": 80.0}


def site(*marks: str, **keys):
    """Cameras of 3 mm at (0, 2), 4 m up, 15 degrees down, each with a bearing of its own, in a wide open yard."""
    cameras = [camera(mark, bearing_deg=AIMS[mark], depression_deg=15.0, lens="three") for mark in marks]
    fence = [{"name": "south", "points_m": [[-48.0, 0.0], [48.0, 0.0]], "inside": "left", "barrier": "mesh"}]
    return yard(cameras, **({"perimeter": fence} | keys))


def rows_of(mark: str, by=(0.0, 0.0, 0.0), height_m: float = 4.0, across_ahead=YARD4, shift=None) -> list[list[str]]:
    """Cells of the rows of one camera, read without error to hundredths of a pixel; by: turned from the design [degrees];
    shift: of single readings, index to (columns, rows)."""
    place = places(across_ahead, AIMS[mark], (0.0, 2.0))
    exact = seen(place, THREE_MM, (0.0, 2.0, height_m), AIMS[mark] + by[0], 15.0 + by[1], by[2])
    for k, move in (shift or {}).items():
        exact[k] += move
    cells = []
    for k, ((x, y, _), (column, row)) in enumerate(zip(place, exact), start=1):
        read = [_read(column), _read(row)]
        cells.append([mark, f"{k}", f"{x:.4f}", f"{y:.4f}", "0", "", "", *read, f"{height_m}" if k == 1 else "", "a note"])
    return cells


def _read(value: float) -> str:
    """With a part behind the point in any case, for a whole number stands for a pixel's middle."""
    text = f"{value:.4f}"
    return text if not text.endswith(".0000") else f"{value + 1e-4:.4f}"


def written(folder: Path, *rows: list[str], comma: str = ",", heads: str = HEADS) -> str:
    """A file of marks; returns its path."""
    lines = [heads.replace(",", comma), *(comma.join(row) for row in rows)]
    path = folder / "marks.csv"
    path.write_text("\r\n".join(lines) + "\r\n", encoding="utf-8")
    return str(path)
