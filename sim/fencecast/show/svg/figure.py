"""What every figure has: its markup and its size."""

from __future__ import annotations

from dataclasses import dataclass


class SvgText(str):
    """Markup in which every text was escaped by the surface: a template that escapes puts it into a page as it is.

    What is made of it with other text is a plain `str` again, which a template does escape.
    """

    __slots__ = ()

    def __html__(self) -> str:
        """What templates ask a value for that is markup already."""
        return str(self)


@dataclass(frozen=True, eq=False)
class FigureSvg:
    """svg: the whole element. width_mm, height_mm: of its view box. key: lines that explain short names in it, for the page."""

    svg: str
    width_mm: float
    height_mm: float
    key: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Markup is marked as such here, for every figure, and nowhere else."""
        object.__setattr__(self, "svg", SvgText(self.svg))
