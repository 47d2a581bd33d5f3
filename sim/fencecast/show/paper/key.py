"""The pieces of a key: the Pd ramp with its requirement, and the four verdict swatches."""

from __future__ import annotations

from fencecast.findings.sheetwords import verdict_meanings
from fencecast.findings.words import requirement_text
from fencecast.show.paper import style
from fencecast.show.paper.style import Ramp
from fencecast.show.paper.surface import Surface
from fencecast.show.paper.text import text_width_mm

SWATCH_MM = (7.0, 2.9)


def ramp_key(page: Surface, x: float, y: float, width: float, ramp: Ramp) -> float:
    """The Pd ramp, all steps equally wide, its top left corner at (x, y); returns the y of its lowest text.

    Edges are labelled; the requirement is bold, with a tick and the word 'required'.
    """
    page.text(x, y + 2.4, "Pd: probability that one crossing raises an alarm")
    top, height, count = y + 3.6, 3.0, len(ramp.colours)
    step = width / count
    for i, colour in enumerate(ramp.colours):
        page.rect(x + i * step, top, step, height, fill=colour)
        if i:
            page.line([x + i * step] * 2, [top, top + height], colour=style.PAPER, points=0.7)
    page.rect(x, top, width, height, edge=style.LINE, points=0.5, zorder=5)
    for i, edge in enumerate(ramp.edges):
        required = i == count - 2
        where = "left" if i == 0 else "right" if i == count else "center"
        label = requirement_text(edge) if required or i == count - 1 else f"{edge:g}"
        page.text(
            x + i * step, top + height + 3.0, label, ha=where, size=style.SMALL,
            weight="bold" if required else "normal", colour=style.INK if required else style.SECOND,
        )  # fmt: skip
        if required:
            page.line([x + i * step] * 2, [top - 0.6, top + height + 0.6], points=1.3, zorder=6)
            page.text(x + i * step, top + height + 5.7, "required", ha="center", size=style.SMALL, weight="bold")
    return top + height + 6.2


def verdict_swatch(page: Surface, x: float, y: float, verdict: str, ramp: Ramp) -> None:
    """One swatch, 7.0 by 2.9 mm, its top left corner at (x, y): 'weak', 'undecided', 'meets' or 'no data'."""
    width, height = SWATCH_MM
    corners = [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]
    below = ramp.colours[-3]  # the step just under the requirement
    if verdict == "weak":
        page.rect(x, y, width, height, fill=ramp.colours[-4] if len(ramp.colours) > 3 else below)
        page.rect(x, y - style.RAIL_MM, width, style.RAIL_MM, fill=style.INK, zorder=5)
        page.rect(x, y + height, width, style.RAIL_MM, fill=style.INK, zorder=5)
        page.line([x, x], [y, y + height], points=0.6)
        page.line([x + width] * 2, [y, y + height], points=0.6)
    elif verdict == "undecided":
        page.rect(x, y, width, height, fill=below)
        page.hatch(corners, style.hatch_colour(below))
    elif verdict == "meets":
        page.rect(x, y, width, height, fill=ramp.colours[-1], edge=style.LINE)
    else:
        page.no_data(corners)


def verdict_key(
    page: Surface, x: float, y: float, ramp: Ramp, columns: int = 2, step_x: float = 46.0, stacked: bool = True
) -> float:
    """The four verdicts with their meanings, in `columns`; `stacked` puts the meaning under the word, else beside it.

    Returns the y of the lowest text.
    """
    meanings = verdict_meanings(ramp.requirement)
    row = 8.2 if stacked else 5.2
    beside = max(text_width_mm(word, style.LABEL, "bold") for word in meanings) + 3.0
    for i, (verdict, meaning) in enumerate(meanings.items()):
        left, top = x + (i % columns) * step_x, y + (i // columns) * row
        verdict_swatch(page, left, top + (1.2 if stacked else 0.0), verdict, ramp)
        words = left + SWATCH_MM[0] + 1.8
        if stacked:
            page.text(words, top + 2.4, verdict, weight="bold")
            page.text(words, top + 5.3, meaning, size=style.SMALL, colour=style.SECOND)
        else:
            page.text(words, top + 2.3, verdict, weight="bold")
            page.text(words + beside, top + 2.3, meaning, size=style.SMALL, colour=style.SECOND)
    return y + ((len(meanings) - 1) // columns) * row + (5.8 if stacked else 2.8)
