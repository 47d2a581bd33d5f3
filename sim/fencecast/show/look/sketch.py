"""A sketch of what stands in the camera's picture: for one look in which the person is hidden, behind a fence, or not in it."""

from __future__ import annotations

from fencecast.findings.lookscene import scenery_text
from fencecast.show.look.scene import draw_marks, marks_of, names_by_kind
from fencecast.show.look.sketchdata import Sketch
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import wrap

FRAME_LEFT_MM, FRAME_WIDTH_MM = 57.0, 65.0
HATCH_MM = 1.6
ARROW_MM = 4.0


def draw_sketch(page: Page, top: float, sketch: Sketch) -> float:
    """Part 3 of the picture of one look, from `top` down: words at the left, the frame beside them; returns its lowest y."""
    columns, rows = sketch.frame_px
    page.text(page.left, top + 3.2, "3  What stands in the picture", size=style.HEAD, weight="bold")
    body = top + 6.0
    pixel = FRAME_WIDTH_MM / columns
    height = rows * pixel
    corner = (FRAME_LEFT_MM, body)
    page.rect(*corner, FRAME_WIDTH_MM, height, fill=style.PAPER, edge=style.INK, points=0.6, zorder=2.5)
    box = (0.0, float(columns), 0.0, float(rows))
    hidden = not sketch.sides and sketch.person_px is not None
    person = sketch.person_px if hidden else None
    marks = marks_of(sketch.scenery, box, HATCH_MM / pixel)
    taken = []
    if person is not None:
        left, right, upper, lower = (edge * pixel for edge in _inside(person, box))
        x, y = corner[0] + left, corner[1] + upper
        taken = [(x - 1.0, corner[0] + right + 1.0, y - 1.0, corner[1] + lower + 1.0)]
        page.rect(x, y, right - left, lower - upper, edge=style.LARGEST_LOSS, points=1.2, zorder=3.2)
    draw_marks(page, marks, sketch.horizon, corner, pixel, False, taken)
    for side in sketch.sides:
        _arrow(page, side, corner, FRAME_WIDTH_MM, height)
    words = [*sketch.words, scenery_text(names_by_kind(marks), len(sketch.horizon) > 0)]
    if person is not None:
        words.append(f"Brown box: the {sketch.who}.")
    y = body + 2.3
    for sentence in words:
        y = page.lines_of_text(page.left, y, wrap(sentence, FRAME_LEFT_MM - page.left - 4.0, style.SMALL), 2.9, size=style.SMALL)
    return max(y, body + height + 2.0 + (ARROW_MM if "below" in sketch.sides else 0.0))


def _inside(box, frame) -> tuple[float, float, float, float]:
    """The part of a box inside the frame, both column from, to, row from, to."""
    return max(box[0], frame[0]), min(box[1], frame[1]), max(box[2], frame[2]), min(box[3], frame[3])


def _arrow(page: Page, side: str, corner: tuple[float, float], width: float, height: float) -> None:
    """An arrow from the edge of the frame to where the person is."""
    x, y = corner[0] + width / 2, corner[1] + height / 2
    dx, dy = {"left": (-1, 0), "right": (1, 0), "above": (0, -1), "below": (0, 1)}[side]
    x, y = x + dx * (width / 2 + 0.8), y + dy * (height / 2 + 0.8)
    tip, base = (x + dx * ARROW_MM, y + dy * ARROW_MM), (x + dx * (ARROW_MM - 2.0), y + dy * (ARROW_MM - 2.0))
    page.line([x, base[0]], [y, base[1]], colour=style.LARGEST_LOSS, points=1.2)
    corners = [tip, (base[0] + dy * 1.1, base[1] + dx * 1.1), (base[0] - dy * 1.1, base[1] - dx * 1.1)]
    page.polygon(corners, fill=style.LARGEST_LOSS, zorder=5)
