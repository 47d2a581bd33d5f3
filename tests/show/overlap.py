"""Where the texts of a figure lie, measured with its renderer: do two overlap, does one leave the page?

It does not see text that a line, a bar or a picture hides; for that, look at the page.
"""

from __future__ import annotations

import numpy as np

MM_PER_INCH = 25.4
# Text boxes reach from the ascenders to the descenders of the letters that are there; two boxes that share no more than this (a
# dot of the printed picture) have no ink on each other: the thickness of a letter's stroke at 6.5 pt is 0.2 mm.
SHARED_MM = 0.127


def text_boxes(figure) -> list[tuple[str, float, float, float, float]]:
    """Every visible text of the figure with its box (left, bottom, right, top) in millimetres."""
    canvas = figure.canvas
    canvas.draw()
    renderer = canvas.get_renderer()
    scale = MM_PER_INCH / figure.dpi
    boxes = []
    for text in figure.findobj(match=lambda artist: hasattr(artist, "get_text") and hasattr(artist, "get_fontsize")):
        if text.get_visible() and text.get_text().strip():
            box = text.get_window_extent(renderer)
            boxes.append((text.get_text(), *(scale * edge for edge in (box.x0, box.y0, box.x1, box.y1))))
    return boxes


def overlapping(figure) -> list[tuple[str, str]]:
    """Pairs of texts whose boxes overlap by more than a hair in both directions."""
    return _pairs(text_boxes(figure))


def _pairs(boxes: list[tuple[str, float, float, float, float]]) -> list[tuple[str, str]]:
    """All pairs at once: a page of predictions has a thousand texts."""
    if not boxes:
        return []
    left, bottom, right, top = np.array([box[1:] for box in boxes]).T
    wide = np.minimum.outer(right, right) - np.maximum.outer(left, left)
    high = np.minimum.outer(top, top) - np.maximum.outer(bottom, bottom)
    meet = np.triu((wide > SHARED_MM) & (high > SHARED_MM), k=1)
    return [(boxes[a][0], boxes[b][0]) for a, b in np.argwhere(meet)]


def off_page(figure) -> list[str]:
    """Texts that leave the page."""
    return _off(figure, text_boxes(figure))


def _off(figure, boxes: list[tuple[str, float, float, float, float]]) -> list[str]:
    width, height = (MM_PER_INCH * inches for inches in figure.get_size_inches())
    return [text for text, left, bottom, right, top in boxes if left < 0 or bottom < 0 or right > width or top > height]


def overlaps(figure) -> list[tuple[str, str]]:
    """All that is wrong with where texts lie: those that leave the page, and pairs that overlap."""
    boxes = text_boxes(figure)  # drawn once: that takes most of the time
    return [("leaves the page", text) for text in _off(figure, boxes)] + _pairs(boxes)


def texts(figure) -> list[str]:
    """Every visible text of the figure, in the order of drawing."""
    found = figure.findobj(match=lambda artist: hasattr(artist, "get_text") and hasattr(artist, "get_fontsize"))
    return [text.get_text() for text in found if text.get_visible() and text.get_text().strip()]
