"""The camera's view: what is left for the camera to see, at a few distances, beside the best weather class."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from matplotlib.figure import Figure
from matplotlib.patheffects import withStroke

from fencecast.findings.lookscene import scenery_text
from fencecast.findings.looktext import distance_text, one_look_attrs
from fencecast.findings.viewwords import beside_frame, left_out_words, reason_text, sight, under_crop
from fencecast.findings.words import number_word
from fencecast.onelook import ViewFrame
from fencecast.show.look.data import MOST_DISTANCES, view_data
from fencecast.show.look.scene import Person, draw_marks, marks_of, names_by_kind
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.pixels import (
    COLDEST_K,
    LARGEST_CROP_PX,
    LARGEST_FRAME_PX,
    PIXEL_MM,
    WARMEST_K,
    Window,
    averaged,
    crop_size,
    draw_pixels,
    frame_scale,
    outline_segments,
    places_in_frame,
    whole_pixels,
    window_of,
)
from fencecast.show.paper.text import fitting_title, shorten, wrap
from fencecast.site import Site

FRAME_LEFT_MM = 9.0
TABLE_LEFT_MM = 116.0
CROP_GAP_MM, GROUP_GAP_MM = 2.0, 8.0
HATCH_MM = 1.6  # between hatch lines over camera pixels: wide, so that the pixels are seen

__all__ = ["MOST_DISTANCES", "plot_view"]


def _sigma_k(frame: ViewFrame, site: Site) -> float:
    """The full sigma of a pixel [K]: temporal noise, fixed pattern and clutter."""
    return frame.threshold_k / site.decision.threshold_sigma.middle()


def _draw_frame(
    page: Page,
    y: float,
    frames: Sequence[ViewFrame],
    windows: Sequence[Window],
    shifts: Mapping[int, int],
    normal: np.ndarray,
    site: Site,
) -> float:
    """The whole frame with everyone in it and a dashed box round each; returns the y below it.

    shifts: columns by which each person is moved, by number; normal: one draw of unit noise, (rows, columns).
    """
    rows, columns = frames[0].contrast_k.shape
    scale = frame_scale(rows, columns)
    scene = np.zeros((rows, columns))
    for i, shift in shifts.items():
        moved = np.zeros_like(scene)  # moved, not rolled: what leaves one side must not come back at the other
        moved[:, max(shift, 0) : columns + min(shift, 0)] = frames[i].contrast_k[:, max(-shift, 0) : columns - max(shift, 0)]
        scene = np.where(np.abs(moved) > np.abs(scene), moved, scene)
    scene = scene + _sigma_k(frames[-1], site) * normal
    block = 1
    if scale == 0:
        block = int(np.ceil(max(columns / LARGEST_FRAME_PX[0], rows / LARGEST_FRAME_PX[1])))
        scene, scale = averaged(scene, block), 1
    x, pixel = whole_pixels(FRAME_LEFT_MM), scale * PIXEL_MM / block
    width, height = draw_pixels(page, x, y, scene, scale)
    page.rect(x, y, width, height, edge=style.INK, points=0.6, zorder=3)
    _frame_ticks(page, x, y, width, height, rows, columns, pixel)
    boxes = [_box_px(windows[i], shift) for i, shift in shifts.items()]
    marks = marks_of(frames[0].scenery, (0.0, columns, 0.0, rows), HATCH_MM / pixel, boxes)
    labels = [(x + b[0] * pixel, x + b[1] * pixel, y + b[2] * pixel, y + b[3] * pixel) for b in boxes]
    draw_marks(page, marks, frames[0].horizon, (x, y), pixel, True, labels)
    for i, shift in shifts.items():
        _dashed_box(page, x, y, windows[i], shift, pixel, distance_text(frames[i].distance_m))
    words = ["pixel column; rows at the left."]
    if len(shifts) > 1:
        whom = "people" if frames[0].who == "person" else "of them"
        words.append(f"{number_word(len(shifts)).capitalize()} {whom} side by side in one frame for comparison.")
    for reason, out in left_out_words(frames, [i for i in range(len(frames)) if i not in shifts]).items():
        words.append(f"{reason}: {', '.join(out)}.")
    words.append(scenery_text(names_by_kind(marks), len(frames[0].horizon) > 0))
    if block > 1:
        words.append(f"Each dot is the mean of {block} × {block} pixels.")
    lines = wrap(" ".join(words), max(width, 60.0), style.SMALL)
    return page.lines_of_text(x, y + height + 6.5, lines, 2.9, size=style.SMALL, colour=style.SECOND)


def _box_px(window: Window, shift: int) -> tuple[int, int, int, int]:
    """A dashed box in the frame: column from, to, row from, to."""
    left = window.left + shift
    return left, left + window.columns, window.top, window.top + window.rows


def _frame_ticks(page: Page, x: float, y: float, width: float, height: float, rows: int, columns: int, pixel: float) -> None:
    step = next(s for s in (20, 40, 80, 160, 320, 640) if columns / s <= 4.5)
    for column in range(0, columns + 1, step):
        at = x + column * pixel
        page.line([at, at], [y + height, y + height + 0.9], colour=style.LINE, points=0.6)
        page.text(at, y + height + 3.4, f"{column}", size=style.SMALL, colour=style.SECOND, ha="center")
    for row in range(0, rows + 1, step):
        at = y + row * pixel
        page.line([x - 0.9, x], [at, at], colour=style.LINE, points=0.6)
        page.text(x - 1.3, at + 0.85, f"{row}", size=style.SMALL, colour=style.SECOND, ha="right")


def _dashed_box(page: Page, x: float, y: float, window: Window, shift: int, pixel: float, label: str) -> None:
    left, top = x + (window.left + shift) * pixel, y + window.top * pixel
    width, height = window.columns * pixel, window.rows * pixel
    xs = [left, left + width, left + width, left, left]
    ys = [top, top, top + height, top + height, top]
    page.line(xs, ys, colour=style.INK, points=1.6, zorder=4, solid_joinstyle="miter")
    page.line(xs, ys, colour=style.PAPER, points=0.9, zorder=4.1, linestyle=(0, (4, 2.5)))
    mark = page.text(left + 1.1, top + height - 1.2, label, colour=style.PAPER)
    mark.set_path_effects([withStroke(linewidth=1.6, foreground=style.INK)])


def _draw_crop(
    page: Page, x: float, y: float, frame: ViewFrame, window: Window, m: int, noise: np.ndarray, site: Site, beside: bool
) -> float:
    """One crop with its outline, and its lines of text below it or, when there is room, beside it; returns the y below."""
    if frame.outside:
        width, height = window.columns * m * PIXEL_MM, window.rows * m * PIXEL_MM
        lines = wrap(reason_text(frame), width - 1.6, style.SMALL)
        page.lines_of_text(x + 0.8, y + 3.4, lines, 2.9, size=style.SMALL, colour=style.SECOND)
    else:
        width, height = draw_pixels(page, x, y, window.of(frame.contrast_k) + noise, m)
        inside = (window.left, window.left + window.columns, window.top, window.top + window.rows)
        corner, pixel = (x - window.left * m * PIXEL_MM, y - window.top * m * PIXEL_MM), m * PIXEL_MM
        person = Person(frame.rectangle_px, tuple(each.name for each in frame.hidden_by)) if frame.hidden_share < 1.0 else None
        draw_marks(page, marks_of(frame.scenery, inside, HATCH_MM / pixel, (), person), (), corner, pixel, True, named=False)
    page.rect(x, y, width, height, edge=style.INK, points=0.6, zorder=3)
    edges = outline_segments(window.of(frame.over)) * (m * PIXEL_MM) + np.array([x, y])
    for colour, points, zorder in ((style.PAPER, 1.7, 4.0), (style.EYE_OUTLINE, 0.8, 4.1)):
        page.segments(edges, colour, points, zorder, capstyle="projecting")  # closes the corners
    left, top = (x + width + 2.4, y - 0.6) if beside else (x, y + height)
    size = style.LABEL if site.units == "us" else style.HEAD
    page.text(left, top + 3.4, distance_text(frame.distance_m, site.units), weight="bold", size=size)
    room = width + CROP_GAP_MM - 0.6 if not beside else 60.0 - width
    told = [] if frame.outside else under_crop(frame, window.columns, window.rows, site)
    lines = [part for line in told for part in wrap(line, room, style.SMALL)]
    bottom = page.lines_of_text(left, top + 6.5, lines, 2.9, size=style.SMALL)
    return max(bottom, y + height + 3.6) if beside else bottom


def _grey_scale(page: Page, x: float, y: float, units: str) -> float:
    """The one scale, with pointed ends for what is clipped; returns the y below it."""
    page.text(x, y + 2.6, "Apparent difference from the ground, K", weight="bold")
    top, height, point, width = y + 4.2, 3.4, 3.0, 50.0
    left = whole_pixels(x + point)
    for i in range(100):
        page.rect(left + i * width / 100, top, width / 100 + 0.1 * (i < 99), height, fill=f"{(i + 0.5) / 100:.3f}")
    right = left + width
    page.polygon([(left, top), (left - point, top + height / 2), (left, top + height)], fill="0.0", edge=style.INK)
    page.polygon([(right, top), (right + point, top + height / 2), (right, top + height)], fill="1.0", edge=style.INK)
    page.rect(left, top, width, height, edge=style.INK, points=0.5, zorder=4)
    below = top + height
    for value in (-1, 0, 1, 2, 3):
        at = left + (value - COLDEST_K) / (WARMEST_K - COLDEST_K) * width
        page.line([at, at], [below, below + 0.8], colour=style.LINE, points=0.6)
        page.text(at, below + 3.4, f"{value}".replace("-", "−"), size=style.SMALL, colour=style.SECOND, ha="center")
        if units == "us":
            page.text(
                at, below + 6.3, f"{1.8 * value:g} °F".replace("-", "−"), size=style.SMALL, colour=style.SECOND, ha="center"
            )
    below += 10.4 if units == "us" else 7.4
    words = ["lighter: warmer than the ground; one scale for", "all frames here, clipped beyond its ends"]
    return page.lines_of_text(x, below, words, 2.9, size=style.SMALL, colour=style.SECOND)


def _table(page: Page, y: float, frames: Sequence[ViewFrame], site: Site) -> float:
    x, values = TABLE_LEFT_MM, TABLE_LEFT_MM + 27.5
    for name, text in beside_frame(frames, site):
        page.text(x, y, name, size=style.SMALL, colour=style.SECOND)
        y = page.lines_of_text(values, y, wrap(text, page.right - values, style.SMALL, most=3), 2.9, size=style.SMALL) + 1.3
    return y


def plot_view(frames: Sequence[ViewFrame], site: Site) -> Figure:
    """The contrast picture at each asked distance, and the same person in the best weather class beside it.

    frames: of `fencecast.view`, 1 to 4 distances of the asked class and the same distances of the comparison class (none when the
        asked class is the best one itself).
    site: the site (title, units, seed for the one draw of the noise, decision, sensors, lenses, cameras).
    Returns a matplotlib Figure, 180 mm wide. Camera pixels are whole numbers of device pixels at 200 dpi.
    """
    data = view_data(frames, site)
    asked, beside, normals = data.asked, data.beside, data.noise
    page = Page()
    y = page.heading(fitting_title(data.titles, page.right - page.left), data.subtitle)
    page.text(page.left, y + 3.4, shorten(sight(asked[0], site.units), 100.0, style.HEAD, "bold"), size=style.HEAD, weight="bold")

    most = max(len(asked), len(beside))
    half = (page.right - page.left - GROUP_GAP_MM) / 2 if beside else page.right - page.left
    width_px = min(LARGEST_CROP_PX[0], int(((half + CROP_GAP_MM) / most - CROP_GAP_MM) / PIXEL_MM))
    columns, rows, m = crop_size([*asked, *beside], frame_scale(*asked[0].contrast_k.shape), width_px)
    windows = [window_of(frame, columns, rows) for frame in asked]
    shifts = places_in_frame(asked, windows)
    top = whole_pixels(y + 5.0)
    below = _draw_frame(page, top, asked, windows, shifts, normals[0], site)
    table = _table(page, _grey_scale(page, TABLE_LEFT_MM, top - 1.0, site.units) + 3.0, asked, site)

    y = max(below, table) + 2.6
    lowest, starts = y, [page.left, page.left + half + GROUP_GAP_MM]
    if len(asked) + len(beside) == 1:  # a single crop stands under the table: a row of its own would be an empty row
        y, starts = table + 2.6, [TABLE_LEFT_MM, 0.0]
    for draw, group in enumerate((asked, beside)):
        if not group:
            continue
        name = group[0].weather if draw == 0 else f"{group[0].weather}, for comparison"
        page.text(starts[draw], y + 1.0, shorten(name, half, style.HEAD, "bold"), size=style.HEAD, weight="bold")
        for i, frame in enumerate(group):
            x = whole_pixels(starts[draw] + i * (columns * m * PIXEL_MM + CROP_GAP_MM))
            window = window_of(frame, columns, rows)
            # The noise of the crop is that of its box in the frame.
            boxed = replace(window, left=window.left + shifts.get(i, 0))
            noise = _sigma_k(frame, site) * boxed.of(normals[draw])
            crop = _draw_crop(page, x, whole_pixels(y + 2.6), frame, window, m, noise, site, beside=most == 1)
            lowest = max(lowest, crop)
    note = (
        f"Crops: {columns} × {rows} pixels, one magnification. Outline: expected contrast passes "
        f"{site.decision.threshold_sigma.middle():g} sigma. Noise and clutter: one draw, each pixel by itself."
    )
    lowest = page.lines_of_text(
        page.left, lowest + 2.4, wrap(note, page.right - page.left, style.SMALL), 2.9, size=style.SMALL, colour=style.SECOND
    )
    height = page.foot(lowest - 0.6, one_look_attrs(site), one_look=True)
    page.set_height(
        np.ceil(height / PIXEL_MM) * PIXEL_MM
    )  # whole device pixels, so that rows of pixels fall on rows of the picture
    return page.figure
