"""A sheet of paper to draw on: millimetres from the top left, one axes over the whole page, saved small.

    page = Page()                                  # 180 mm wide; its height is what is drawn
    y = page.heading("Warm dusk is worst: ...", "Plan, one drawing per weather class ...")
    page.text(4, y + 3, "warm dusk", size=style.HEAD, weight="bold")
    page.rect(20, y, 60, 6.6, fill=ramp.colour(0.4))
    page.foot(y + 90, results.attrs)               # draws provenance and caution, and sets the page's height
    save_picture(page.figure, "plan.png")

Figures are built as objects, never through pyplot, so that a program that draws has no shared state and needs no screen.
"""

from __future__ import annotations

import io
import os
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.collections import Collection, LineCollection, PolyCollection
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from matplotlib.image import AxesImage
from matplotlib.lines import Line2D
from matplotlib.patches import Circle, Patch, Polygon, Rectangle
from matplotlib.text import Text
from numpy.typing import ArrayLike
from PIL import Image

from fencecast.show.paper import fonts, style
from fencecast.show.paper.surface import LEAST_SLICE_MM, STACK_POINTS, Fill, Surface, step_line, touching_runs

LARGEST_PNG_BYTES = 300_000


class Page(Surface):
    """A page as a matplotlib figure; the marks are described in `Surface`."""

    def __init__(self, width_mm: float = style.PAGE_WIDTH_MM, margin_mm: float = style.MARGIN_MM):
        super().__init__(width_mm, margin_mm)
        self.figure = Figure(dpi=style.DPI, facecolor=style.PAPER)
        FigureCanvasAgg(self.figure)
        self.axes = self.figure.add_axes((0, 0, 1, 1))
        self.axes.set_axis_off()
        self.axes.set_autoscale_on(False)
        self.set_height(self.height_mm)

    def set_height(self, height_mm: float) -> None:
        self.height_mm = height_mm
        self.figure.set_size_inches(self.width_mm / style.MM_PER_INCH, height_mm / style.MM_PER_INCH)
        self.axes.set_xlim(0, self.width_mm)
        self.axes.set_ylim(height_mm, 0)

    # --- marks -----------------------------------------------------------------------------------------------------

    def text(
        self, x: float, y: float, text: str, size: float = style.LABEL, weight: str = "normal", colour: str = style.INK,
        ha: str = "left", va: str = "baseline", plate: bool = False, zorder: float = 10,
    ) -> Text:  # fmt: skip
        box = {"facecolor": style.PAPER, "edgecolor": "none", "pad": 0.8} if plate else None
        return self.axes.text(
            x, y, text, fontsize=size, fontweight=weight, fontfamily=fonts.families(text), color=colour, ha=ha, va=va,
            parse_math=False, clip_on=False, bbox=box, zorder=zorder,
        )  # fmt: skip

    def line(
        self, xs: ArrayLike, ys: ArrayLike, colour: str = style.INK, points: float = 0.6, zorder: float = 4, **more: Any
    ) -> Line2D:
        more.setdefault("solid_capstyle", "butt")
        more.setdefault("dash_capstyle", "butt")
        return self.axes.add_line(Line2D(xs, ys, color=colour, linewidth=points, zorder=zorder, clip_on=False, **more))

    def rect(
        self, x: float, y: float, width: float, height: float, fill: str | None = None, edge: str | None = None,
        points: float = 0.5, zorder: float = 2, **more: Any,
    ) -> Patch:  # fmt: skip
        patch = Rectangle(
            (x, y), width, height, facecolor=fill or "none", edgecolor=edge or "none", linewidth=points if edge else 0,
            zorder=zorder, joinstyle="miter", clip_on=False, **more,
        )  # fmt: skip
        return self.axes.add_patch(patch)

    def polygon(
        self, corners_mm: ArrayLike, fill: str | None = None, edge: str | None = None, points: float = 0.5,
        zorder: float = 2, closed: bool = True, **more: Any,
    ) -> Patch:  # fmt: skip
        patch = Polygon(
            np.asarray(corners_mm, dtype=float), closed=closed, facecolor=fill or "none", edgecolor=edge or "none",
            linewidth=points if edge else 0, zorder=zorder, joinstyle="miter", clip_on=False, **more,
        )  # fmt: skip
        return self.axes.add_patch(patch)

    def polygons(
        self, many_corners_mm: Sequence[ArrayLike], fills: Sequence[str], zorder: float = 2, alpha: float | None = None
    ) -> Collection:
        cells = PolyCollection(many_corners_mm, facecolors=fills, edgecolors="none", linewidths=0, zorder=zorder, clip_on=False)
        cells.set_antialiased(False)  # else a hair of paper shows between touching cells
        cells.set_alpha(alpha)
        return self.axes.add_collection(cells, autolim=False)

    def segments(
        self, segments_mm: Any, colour: str = style.INK, points: float = style.HATCH_POINTS, zorder: float = 3,
        capstyle: str = "butt",
    ) -> LineCollection | None:  # fmt: skip
        if len(segments_mm) == 0:
            return None
        lines = LineCollection(segments_mm, colors=colour, linewidths=points, capstyle=capstyle, zorder=zorder, clip_on=False)
        return self.axes.add_collection(lines, autolim=False)

    def hatch(
        self, corners_mm: ArrayLike, colour: str = style.INK, direction: str = "rising",
        spacing_mm: float = style.HATCH_SPACING_MM, zorder: float = 3,
    ) -> LineCollection | None:  # fmt: skip
        return self.segments(style.hatch_segments(corners_mm, spacing_mm, direction), colour, style.HATCH_POINTS, zorder)

    def no_data(self, corners_mm: ArrayLike, zorder: float = 2.5) -> None:
        self.polygon(corners_mm, fill=style.PAPER, edge=style.LINE, points=0.4, zorder=zorder)
        dots = style.dot_points(corners_mm)
        if len(dots):
            self.dots(dots, zorder=zorder + 0.1)

    def dot(
        self, x: float, y: float, diameter_mm: float = 1.0, colour: str = style.INK, edge: str | None = None, zorder: float = 6
    ) -> Patch:
        patch = Circle(
            (x, y), diameter_mm / 2, facecolor=colour, edgecolor=edge or "none", linewidth=0.6 if edge else 0, zorder=zorder
        )
        patch.set_clip_on(False)
        return self.axes.add_patch(patch)

    def dots(self, centres_mm: np.ndarray, colour: str = style.SECOND, zorder: float = 2.6) -> None:
        size = style.DOT_MM / style.MM_PER_POINT
        self.line(
            centres_mm[:, 0], centres_mm[:, 1], colour=colour, zorder=zorder, linestyle="none", marker="o", markersize=size,
            markeredgewidth=0,
        )  # fmt: skip

    def stack(
        self, edges: Sequence[tuple[float, float]], tops: np.ndarray, base: float, fills: Sequence[Fill], zorder: float = 2
    ) -> None:
        cells, colours, low = [], [], np.full(len(edges), base)
        for fill, high in zip(fills, tops):
            slices = [[(u, a), (v, a), (v, b), (u, b)] for (u, v), a, b in zip(edges, low, high) if a - b >= LEAST_SLICE_MM]
            cells += slices
            colours += [fill.colour] * len(slices)
            if fill.direction and slices:
                lines = [style.hatch_segments(each, fill.spacing_mm, fill.direction) for each in slices]
                self.segments(np.concatenate(lines), fill.hatch, zorder=zorder + 1)
            low = high
        self.polygons(cells, colours, zorder)
        for run in touching_runs(edges):
            for levels in tops:
                xs, ys = zip(*step_line(edges[run], levels[run]))
                self.line(xs, ys, points=STACK_POINTS, zorder=zorder + 3, solid_joinstyle="miter")

    def cells(
        self, x: float, y: float, steps: np.ndarray, colours: Sequence[str], pixels: tuple[int, int], zorder: float = 2
    ) -> None:
        across, down = pixels
        table = np.array([to_rgb(colour) for colour in colours])
        image = AxesImage(self.axes, interpolation="nearest", origin="upper", zorder=zorder, resample=False)
        image.set_data(np.repeat(np.repeat(table[steps], down, axis=0), across, axis=1))
        rows, columns = steps.shape
        image.set_extent((x, x + columns * across * style.PIXEL_MM, y + rows * down * style.PIXEL_MM, y))
        image.set_clip_on(False)
        self.axes.add_image(image)


def save_picture(figure: Figure, path: str | os.PathLike) -> None:
    """Write a figure as PNG (200 dpi, under 300 kB: else in 256 colours without dither) or, by the name's end, as PDF."""
    path = Path(path)
    if path.suffix.lower() == ".pdf":
        import matplotlib

        with fonts.quiet(), matplotlib.rc_context({"pdf.fonttype": 42}):  # real fonts: the text stays searchable
            figure.savefig(path, format="pdf", metadata={"CreationDate": None})
        return
    path.write_bytes(picture_bytes(figure))


def picture_bytes(figure: Figure) -> bytes:
    """A figure as PNG, as `save_picture` writes it."""
    buffer = io.BytesIO()
    with fonts.quiet():
        figure.savefig(buffer, format="png", dpi=style.DPI)
    data = buffer.getvalue()
    if len(data) > LARGEST_PNG_BYTES:
        picture = Image.open(io.BytesIO(data)).convert("RGB")
        data = _png_bytes(picture)
        if len(data) > LARGEST_PNG_BYTES:
            data = _png_bytes(_in_256_colours(picture))
    return data


def save_pages(figures: Sequence[Figure], path: str | os.PathLike) -> None:
    """Write figures as the pages of one PDF, each in its own size; the same figures give the same bytes."""
    import matplotlib
    from matplotlib.backends.backend_pdf import PdfPages

    with fonts.quiet(), matplotlib.rc_context({"pdf.fonttype": 42}), PdfPages(path, metadata={"CreationDate": None}) as pages:
        for figure in figures:
            pages.savefig(figure)


def _png_bytes(picture: Image.Image) -> bytes:
    buffer = io.BytesIO()
    picture.save(buffer, "PNG", optimize=True)
    return buffer.getvalue()


def _in_256_colours(picture: Image.Image) -> Image.Image:
    """The picture in its 256 most frequent colours, without dither: those stay exact, every other goes to its nearest.

    The palette's colours, the paper and the greys of a camera's view are among them; what moves are in-between tones at the
    edges of letters. Done here because the imaging library maps even exact colours to near ones (white became 252).
    """
    red, green, blue = (np.asarray(channel) for channel in picture.split())
    codes = (red.astype(np.uint32) << 16) | (green.astype(np.uint32) << 8) | blue
    colours, counts = np.unique(codes, return_counts=True)
    rgb = np.stack([colours >> 16, (colours >> 8) & 255, colours & 255], axis=1).astype(np.float32)
    kept = np.argsort(-counts, kind="stable")[:256]
    nearest = np.concatenate(
        [
            np.argmin(((part[:, None, :] - rgb[kept][None]) ** 2).sum(axis=2), axis=1)
            for part in np.array_split(rgb, 1 + len(rgb) // 4096)
        ]
    )
    nearest = nearest.astype(np.uint8)
    # Row by row: one index of eight bytes for every pixel of a page would double the memory of a whole run.
    small = Image.fromarray(np.stack([nearest[np.searchsorted(colours, row)] for row in codes]))
    small.putpalette(rgb[kept].astype(np.uint8).tobytes())
    return small
