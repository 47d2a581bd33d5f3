"""Text on paper: how wide it is, where it breaks, which of several forms fits."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache

from matplotlib.backends.backend_agg import RendererAgg
from matplotlib.font_manager import FontProperties, findfont, get_font

from fencecast.show.paper import fonts, style

_RENDERER = RendererAgg(8, 8, style.DPI)  # only to measure text with, at the resolution of the saved picture


@lru_cache(maxsize=8192)
def text_width_mm(text: str, size: float = style.LABEL, weight: str = "normal") -> float:
    """Width of one line of text on the page [mm]; size in points, weight 'normal' or 'bold'."""
    font = FontProperties(family=fonts.families(text), size=size, weight=weight)
    with fonts.quiet():
        width, _, _ = _RENDERER.get_text_width_height_descent(text, font, ismath=False)
    return width / style.DPI * style.MM_PER_INCH


@lru_cache(maxsize=8192)
def text_extent_mm(text: str, size: float = style.LABEL, weight: str = "normal") -> tuple[float, float]:
    """How far one line of text reaches above and below its baseline [mm], at least as far as the font's own line does."""
    properties = FontProperties(family=fonts.families(text), size=size, weight=weight)
    with fonts.quiet():
        _, height, below = _RENDERER.get_text_width_height_descent(text, properties, ismath=False)
    font = get_font(findfont(properties))
    em_mm = size * style.MM_PER_POINT / font.units_per_EM
    line = font.get_sfnt_table("OS/2")
    above, below = ((height - below) / style.DPI * style.MM_PER_INCH, below / style.DPI * style.MM_PER_INCH)
    return max(above, line["sTypoAscender"] * em_mm), max(below, -line["sTypoDescender"] * em_mm)


def wrap(text: str, width_mm: float, size: float = style.LABEL, weight: str = "normal", most: int | None = None) -> list[str]:
    """Break a text at spaces, never at no-break spaces, into lines no wider than `width_mm`; beyond `most` the last ends in '…'.

    A single word that is too wide is cut with '…' as well, so that every line returned fits.
    """
    lines: list[str] = []
    for word in re.findall(r"[^ \t\n]+", text):
        if lines and text_width_mm(f"{lines[-1]} {word}", size, weight) <= width_mm:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    if most is not None and len(lines) > most:
        lines = [*lines[: most - 1], " ".join(lines[most - 1 :])]
    return [shorten(line, width_mm, size, weight) for line in lines]


def shorten(text: str, width_mm: float, size: float = style.LABEL, weight: str = "normal") -> str:
    """The text, or as much of its beginning as fits with a '…'."""
    if text_width_mm(text, size, weight) <= width_mm:
        return text
    while text and text_width_mm(text.rstrip() + "…", size, weight) > width_mm:
        text = text[:-1]
    return text.rstrip() + "…"


def fitting_title(titles: Sequence[str], width_mm: float, lines: int = 1) -> str:
    """The first of some titles, the fullest first, that needs no more than so many lines; the last one when none does."""
    for title in titles:
        broken = wrap(title, width_mm, style.TITLE, "bold")
        if len(broken) <= lines and not any(line.endswith("…") for line in broken):
            return title
    return titles[-1]
