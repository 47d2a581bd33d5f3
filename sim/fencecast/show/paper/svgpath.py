"""Path data of SVG, short: whole hundredths of a millimetre, relative steps, no useless zeros.

Positions are rounded before they are subtracted, so that errors do not add up along a path and equal coordinates stay equal.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import ArrayLike

Subpath = tuple[Sequence[tuple[int, int]], bool]  # points in hundredths of a millimetre, and whether it is closed


def hundredths(mm: float) -> int:
    """A length [mm] in whole hundredths; halves go up."""
    return int(np.floor(100.0 * mm + 0.5))


def number(mm: float) -> str:
    """A length [mm] to the hundredth: `7`, `.18`, `-2.5`."""
    return _number(hundredths(mm))


def _number(count: int) -> str:
    whole, rest = divmod(abs(count), 100)
    digits = f".{rest:02d}".rstrip("0") if rest else ""
    text = (str(whole) if whole or not digits else "") + digits
    return f"-{text}" if count < 0 else text


def subpaths(points_mm: ArrayLike, closed: bool) -> list[Subpath]:
    """Points (n, 2) [mm] as one subpath, several where NaN breaks them; a last point equal to the first of a closed one goes."""
    points = np.asarray(points_mm, dtype=float).reshape(-1, 2)
    found: list[Subpath] = []
    piece: list[tuple[int, int]] = []
    for x, y in [*points.tolist(), (np.nan, np.nan)]:
        if np.isnan(x) or np.isnan(y):
            if len(piece) > 1:
                found.append((piece[:-1] if closed and len(piece) > 2 and piece[0] == piece[-1] else piece, closed))
            piece = []
        else:
            piece.append((hundredths(x), hundredths(y)))
    return found


def one_way_round(points_mm: ArrayLike) -> np.ndarray:
    """The corners (n, 2) of a polygon clockwise on the page: two of one path that overlap would else make a hole."""
    corners = np.asarray(points_mm, dtype=float)
    following = np.roll(corners, -1, axis=0)
    area = np.sum(corners[:, 0] * following[:, 1] - following[:, 0] * corners[:, 1])
    return corners[::-1] if area < 0 else corners


def path_data(paths: Iterable[Subpath]) -> str:
    """The `d` of a path; the first step is absolute, so that pieces of data can be joined."""
    parts: list[str] = []
    at: tuple[int, int] | None = None
    for points, closed in paths:
        start = points[0]
        if at is None:
            parts.append(f"M{_pair(*start)}")
        else:
            parts.append(f"m{_pair(start[0] - at[0], start[1] - at[1])}")
        parts += _steps(points)
        if closed:
            parts.append("z")
        at = start if closed else points[-1]
    return "".join(parts)


def _steps(points: Sequence[tuple[int, int]]) -> Iterable[str]:
    """Relative steps; steps of one direction along an axis are joined."""
    held, along = "", 0
    for (x0, y0), (x1, y1) in zip(points, points[1:]):
        dx, dy = x1 - x0, y1 - y0
        kind = "h" if dy == 0 else "v" if dx == 0 else "l"
        step = dx if kind == "h" else dy
        if kind == held and kind != "l" and (step > 0) == (along > 0):
            along += step
            continue
        if held and along:
            yield held + _number(along)
        held, along = ("", 0) if kind == "l" else (kind, step)
        if kind == "l":
            yield "l" + _pair(dx, dy)
    if held and along:
        yield held + _number(along)


def _pair(x: int, y: int) -> str:
    return _number(x) + ("" if y < 0 else " ") + _number(y)
