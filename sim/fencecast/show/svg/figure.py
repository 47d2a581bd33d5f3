"""What every figure has: its markup and its size."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, eq=False)
class FigureSvg:
    """svg: the whole element. width_mm, height_mm: of its view box. key: lines that explain short names in it, for the page."""

    svg: str
    width_mm: float
    height_mm: float
    key: tuple[str, ...] = ()
