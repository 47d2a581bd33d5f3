"""An aerial picture in metres of the site: read, made grey and small, and placed by a world file or by points that are known.

An affine (2, 3) turns a pixel (column, row, 1), counted from the centre of the upper left one, into metres x, y. A world file's
coordinates go through pyproj at 9 x 9 places of the picture, and one affine is fitted to them: what it leaves is kept, and too
much is refused. EXIF is never read nor copied.
"""

from __future__ import annotations

import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from fencecast.errors import InputError, Problem
from fencecast.maps.grid import Grid, from_system
from fencecast.maps.limits import Unreadable
from fencecast.site import Site

LONGEST_PX = 1_200
MOST_PX = 100_000_000
MOST_FIT_M = 0.5  # what one affine may leave of a world file
MOST_POINT_M = 1.0
MOST_SCALE = 0.02
_PLACES = 9
_WORLD = {".png": (".pgw", ".wld"), ".jpg": (".jgw", ".wld"), ".jpeg": (".jgw", ".wld")}


@dataclass(frozen=True, eq=False)
class GroundPicture:
    """grey: (rows, columns) uint8; affine: (2, 3), pixels of `grey` to metres; residual_m: the largest that the fit left."""

    grey: np.ndarray
    affine: np.ndarray
    residual_m: float


def ground_picture(site: Site) -> GroundPicture | None:
    """The picture that a site names, None when it names none. InputError when it cannot be read or placed."""
    table = site.picture
    if table is None:
        return None
    path = (site.folder or Path()) / table.path
    grey, size = _read(path)
    columns, rows = size
    if table.points:
        affine, residual = affine_of_points(table.points)
    else:
        affine, residual = _affine_of_world(site, path, columns, rows)
    shrink = columns / grey.shape[1], rows / grey.shape[0]
    # The centre of a small pixel lies between those of the large ones that it stands for.
    small = np.array([[shrink[0], 0.0, 0.5 * (shrink[0] - 1.0)], [0.0, shrink[1], 0.5 * (shrink[1] - 1.0)], [0.0, 0.0, 1.0]])
    return GroundPicture(grey, affine @ small, residual)


def _read(path: Path) -> tuple[np.ndarray, tuple[int, int]]:
    """The picture in grey, at most 1,200 pixels long, and its own size (columns, rows)."""
    from PIL import Image

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)  # the size is asked below
            with Image.open(path, formats=("PNG", "JPEG")) as opened:
                size = opened.size
                if size[0] * size[1] > MOST_PX:
                    raise _refused(
                        path.name, f"a picture of at most {MOST_PX / 1e6:g} million pixels; this has {size[0]} x {size[1]}"
                    )
                opened.draft("L", (LONGEST_PX, LONGEST_PX))
                grey = opened.convert("L")
        grey.thumbnail((LONGEST_PX, LONGEST_PX))
    except FileNotFoundError:
        raise _refused(str(path), "a file that is there, seen from the folder of the site file") from None
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
        raise _refused(str(path), f"a PNG or JPEG file that can be read ({str(error)[:80]})") from None
    return np.asarray(grey, dtype=np.uint8), size


def _refused(value: object, allowed: str, key: str = "path") -> InputError:
    return InputError([Problem(f"[picture] {key}", value, allowed)], "the site file")


def affine_of_points(points: Sequence[tuple[tuple[float, float], tuple[float, float]]]) -> tuple[np.ndarray, float]:
    """Turn, one scale and shift from known places ((column, row), (x, y)): two fix them, more are a least-squares fit.

    InputError when a place is off by over 1 m, or scales between places differ by over 2 %.
    """
    pixels = np.array([pixel for pixel, _ in points], dtype=float) * np.array([1.0, -1.0])  # rows run downwards
    metres = np.array([at_m for _, at_m in points], dtype=float)
    a, b = pixels - pixels.mean(axis=0), metres - metres.mean(axis=0)
    along, across = float(np.sum(a * b)), float(np.sum(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]))
    square = float(np.sum(a * a))
    turn = np.array([[along, -across], [across, along]]) / square
    shift = metres.mean(axis=0) - turn @ pixels.mean(axis=0)
    off = np.hypot(*(pixels @ turn.T + shift - metres).T)
    i, j = np.triu_indices(len(points), 1)
    scales = np.hypot(*(metres[i] - metres[j]).T) / np.hypot(*(pixels[i] - pixels[j]).T)
    listed = ", ".join(f"{n}: {distance:.2f} m" for n, distance in enumerate(off, start=1))
    if off.max() > MOST_POINT_M:
        raise _refused(len(points), f"places within {MOST_POINT_M:g} m of the fit; these are off by {listed}", "points")
    if scales.max() / scales.min() - 1.0 > MOST_SCALE:
        words = f"{scales.min():.4f} to {scales.max():.4f} m a pixel"
        raise _refused(len(points), f"places whose scales agree within {MOST_SCALE:.0%}; these have {words}", "points")
    affine = np.column_stack([turn @ np.diag([1.0, -1.0]), shift])
    return affine, float(off.max())


def _affine_of_world(site: Site, path: Path, columns: int, rows: int) -> tuple[np.ndarray, float]:
    table = site.picture
    assert table is not None
    if table.world is not None:
        world = (site.folder or Path()) / table.world
    else:
        beside = [path.with_suffix(end) for end in _WORLD.get(path.suffix.lower(), (".wld",))]
        world = next((each for each in beside if each.is_file()), beside[0])
    numbers = _world(world)
    a, d, b, e, c, f = numbers
    own = np.array([[a, b, c], [d, e, f]])
    if table.crs == "site":
        return own, 0.0
    assert site.map is not None and table.crs is not None
    u, v = np.meshgrid(np.linspace(-0.5, columns - 0.5, _PLACES), np.linspace(-0.5, rows - 0.5, _PLACES))
    pixels = np.column_stack([u.ravel(), v.ravel(), np.ones(u.size)])
    try:
        metres = Grid.of(site.map).to_site(from_system(table.crs, pixels @ own.T))
    except Unreadable as error:
        raise _refused(table.crs, str(error), "crs") from None
    fitted, *_ = np.linalg.lstsq(pixels, metres, rcond=None)
    residual = float(np.hypot(*(pixels @ fitted - metres).T).max())
    if residual > MOST_FIT_M:
        raise _refused(
            table.path, f"a picture that one affine places within {MOST_FIT_M:g} m; this leaves {residual:.2f} m: cut it smaller"
        )
    return fitted.T, residual


def _world(path: Path) -> tuple[float, ...]:
    """The six numbers of a world file; C and F are the centre of the upper left pixel."""
    allowed = "a world file: six lines with a number each (A D B E C F)"
    try:
        lines = path.read_text(encoding="ascii").split()
        numbers = tuple(float(line) for line in lines)
    except FileNotFoundError:
        raise _refused(str(path), f"{allowed}, that is there; or give points", "world") from None
    except (OSError, ValueError):
        raise _refused(str(path), allowed, "world") from None
    if len(numbers) != 6 or not np.isfinite(numbers).all() or numbers[0] * numbers[3] == numbers[1] * numbers[2]:
        raise _refused(str(path), allowed, "world")
    return numbers
