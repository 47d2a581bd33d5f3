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
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.collections import Collection, LineCollection, PolyCollection
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Circle, Patch, Polygon, Rectangle
from matplotlib.text import Text
from numpy.typing import ArrayLike
from PIL import Image

from fencecast.cautions import CAUTION
from fencecast.findings.condition import only_words, whole_words
from fencecast.show.paper import fonts, style
from fencecast.show.paper.text import shorten, text_width_mm, wrap

Attrs = Mapping[str, Any]  # of results: what heading and foot print
LARGEST_PNG_BYTES = 300_000


class Page:
    """One page; every coordinate and size is in millimetres from the top left corner, y downwards."""

    def __init__(self, width_mm: float = style.PAGE_WIDTH_MM, margin_mm: float = style.MARGIN_MM):
        self.width_mm, self.margin_mm, self.height_mm = width_mm, margin_mm, 100.0
        self.figure = Figure(dpi=style.DPI, facecolor=style.PAPER)
        FigureCanvasAgg(self.figure)
        self.axes = self.figure.add_axes((0, 0, 1, 1))
        self.axes.set_axis_off()
        self.axes.set_autoscale_on(False)
        self.set_height(self.height_mm)

    @property
    def left(self) -> float:
        return self.margin_mm

    @property
    def right(self) -> float:
        return self.width_mm - self.margin_mm

    def set_height(self, height_mm: float) -> None:
        """Give the page its height [mm]; what has been drawn keeps its place from the top left."""
        self.height_mm = height_mm
        self.figure.set_size_inches(self.width_mm / style.MM_PER_INCH, height_mm / style.MM_PER_INCH)
        self.axes.set_xlim(0, self.width_mm)
        self.axes.set_ylim(height_mm, 0)

    # --- marks -----------------------------------------------------------------------------------------------------

    def text(
        self,
        x: float,
        y: float,
        text: str,
        size: float = style.LABEL,
        weight: str = "normal",
        colour: str = style.INK,
        ha: str = "left",
        va: str = "baseline",
        plate: bool = False,
        **more: Any,
    ) -> Text:
        """One line of text; (x, y) is its anchor, by default the left end of its baseline. `plate` puts white under it."""
        box = {"facecolor": style.PAPER, "edgecolor": "none", "pad": 0.8} if plate else None
        return self.axes.text(
            x, y, text, fontsize=size, fontweight=weight, fontfamily=fonts.families(text), color=colour, ha=ha, va=va,
            parse_math=False, clip_on=False, bbox=box, zorder=more.pop("zorder", 10), **more,
        )  # fmt: skip

    def line(
        self, xs: ArrayLike, ys: ArrayLike, colour: str = style.INK, points: float = 0.6, zorder: float = 4, **more: Any
    ) -> Line2D:
        """A polyline; `points` is its width [pt]. Ends are butt, so that lengths are true."""
        more.setdefault("solid_capstyle", "butt")
        more.setdefault("dash_capstyle", "butt")
        return self.axes.add_line(Line2D(xs, ys, color=colour, linewidth=points, zorder=zorder, clip_on=False, **more))

    def rect(
        self, x: float, y: float, width: float, height: float, fill: str | None = None, edge: str | None = None,
        points: float = 0.5, zorder: float = 2, **more: Any,
    ) -> Patch:  # fmt: skip
        """A rectangle with its upper left corner at (x, y); no fill or no edge when that is None."""
        patch = Rectangle(
            (x, y), width, height, facecolor=fill or "none", edgecolor=edge or "none", linewidth=points if edge else 0,
            zorder=zorder, joinstyle="miter", clip_on=False, **more,
        )  # fmt: skip
        return self.axes.add_patch(patch)

    def polygon(
        self, corners_mm: ArrayLike, fill: str | None = None, edge: str | None = None, points: float = 0.5,
        zorder: float = 2, closed: bool = True, **more: Any,
    ) -> Patch:  # fmt: skip
        """A polygon by its corners (n, 2)."""
        patch = Polygon(
            np.asarray(corners_mm, dtype=float), closed=closed, facecolor=fill or "none", edgecolor=edge or "none",
            linewidth=points if edge else 0, zorder=zorder, joinstyle="miter", clip_on=False, **more,
        )  # fmt: skip
        return self.axes.add_patch(patch)

    def polygons(self, many_corners_mm: Sequence[ArrayLike], fills: Sequence[str], zorder: float = 2) -> Collection:
        """Many filled polygons without edges at once (a list of (n, 2) corners and a list of colours)."""
        cells = PolyCollection(many_corners_mm, facecolors=fills, edgecolors="none", linewidths=0, zorder=zorder, clip_on=False)
        cells.set_antialiased(False)  # else a hair of paper shows between touching cells
        return self.axes.add_collection(cells, autolim=False)

    def segments(
        self, segments_mm: Any, colour: str = style.INK, points: float = style.HATCH_POINTS, zorder: float = 3
    ) -> LineCollection | None:
        """Many short lines at once (an array (lines, 2, 2))."""
        if len(segments_mm) == 0:
            return None
        lines = LineCollection(segments_mm, colors=colour, linewidths=points, capstyle="butt", zorder=zorder, clip_on=False)
        return self.axes.add_collection(lines, autolim=False)

    def hatch(
        self, corners_mm: ArrayLike, colour: str = style.INK, direction: str = "rising",
        spacing_mm: float = style.HATCH_SPACING_MM, zorder: float = 3,
    ) -> LineCollection | None:  # fmt: skip
        """Hatch a convex polygon with lines in the page's one phase."""
        return self.segments(style.hatch_segments(corners_mm, spacing_mm, direction), colour, style.HATCH_POINTS, zorder)

    def no_data(self, corners_mm: ArrayLike, zorder: float = 2.5) -> None:
        """The mark of 'no data': white, grey dots, a thin frame (convex polygon)."""
        self.polygon(corners_mm, fill=style.PAPER, edge=style.LINE, points=0.4, zorder=zorder)
        dots = style.dot_points(corners_mm)
        if len(dots):
            size = style.DOT_MM / style.MM_PER_POINT
            self.axes.add_line(
                Line2D(dots[:, 0], dots[:, 1], linestyle="none", marker="o", markersize=size, markeredgewidth=0,
                       color=style.SECOND, zorder=zorder + 0.1, clip_on=False)
            )  # fmt: skip

    def dot(
        self, x: float, y: float, diameter_mm: float = 1.0, colour: str = style.INK, edge: str | None = None, zorder: float = 6
    ) -> Patch:
        """A round dot."""
        patch = Circle(
            (x, y), diameter_mm / 2, facecolor=colour, edgecolor=edge or "none", linewidth=0.6 if edge else 0, zorder=zorder
        )
        patch.set_clip_on(False)
        return self.axes.add_patch(patch)

    # --- what every picture has --------------------------------------------------------------------------------------

    def lines_of_text(self, x: float, y: float, lines: Iterable[str], step_mm: float, **how: Any) -> float:
        """Lines of text below each other, the first baseline at y; returns the baseline after the last."""
        for line in lines:
            self.text(x, y, line, **how)
            y += step_mm
        return y

    def heading(self, title: str, subtitle: str, attrs: Attrs | None = None) -> float:
        """Title (one line, else wrapped to two) and subtitle (likewise); returns the y below them, where the picture begins.

        attrs: the results' attributes; when they are of chosen hours only (`run --stress`), a line between the two says which.
        """
        width = self.right - self.left
        y = self.lines_of_text(
            self.left, self.margin_mm + 2.9, wrap(title, width, style.TITLE, "bold", most=2), 4.6, size=style.TITLE, weight="bold"
        )
        only = only_line(attrs, width)[0] if attrs is not None else ""
        if only:
            self.text(self.left, y, only, size=style.HEAD, weight="bold")
            y += 3.8
        y = self.lines_of_text(
            self.left, y + 0.2, wrap(subtitle, width, style.SUBTITLE, most=2), 3.4, size=style.SUBTITLE, colour=style.SECOND
        )
        return y + 0.8

    def foot(self, y: float, attrs: Attrs, one_look: bool = False, condition: bool = True) -> float:
        """Rule, provenance and caution with their top at y; sets the page's height below them and returns it.

        attrs: the results' attributes (title, version, seed, crossings_total, confidence, site_sha256).
        one_look: for pictures without crossings. A condition that was shortened in the heading stands in full above the rule.
        """
        width = self.right - self.left
        for line in condition_lines(attrs, width) if condition else ():
            self.text(self.left, y + 1.6, line, size=style.SMALL)
            y += 3.0
        self.line([self.left, self.right], [y, y], colour=style.LINE, points=0.5)
        self.text(self.left, y + 3.2, provenance_line(attrs, width, one_look), size=style.SMALL, colour=style.SECOND)
        self.text(self.left, y + 6.3, CAUTION, size=style.SMALL)
        self.set_height(y + 6.3 + 1.0 + self.margin_mm * 0.5)
        return self.height_mm


def only_line(attrs: Attrs, width_mm: float) -> tuple[str, bool]:
    """`Only hours with visibility_m<=100 (21 of 4,344 armed hours a year)`, bold, and whether all of the condition fits.

    '' when the results are of all armed hours.
    """
    start, condition, end = only_words(attrs)
    room = width_mm - sum(text_width_mm(part, style.HEAD, "bold") for part in (start, end)) - 0.5
    shown = shorten(condition, room, style.HEAD, "bold")
    return start + shown + end, shown == condition


def condition_lines(attrs: Attrs, width_mm: float) -> list[str]:
    """The full condition in small lines, when `only_line` had to shorten it."""
    return [] if only_line(attrs, width_mm)[1] else wrap(whole_words(attrs), width_mm, style.SMALL)


def provenance_line(attrs: Attrs, width_mm: float, one_look: bool = False) -> str:
    """`TITLE · fencecast VERSION · seed N · N crossings · 95 % intervals · site file HASH8`; too long, the title gives way."""
    if one_look:
        rest = [f"fencecast {attrs['version']}", str(attrs.get("what", "one look, medians, no crossings"))]
    else:
        rest = [
            f"fencecast {attrs['version']}",
            f"seed {attrs['seed']}",
            f"{int(attrs['crossings_total']):,} crossings",
            f"{100 * float(attrs['confidence']):g} % intervals",
        ]
    rest.append(f"{attrs.get('file_kind', 'site file')} {str(attrs['site_sha256'])[:8]}")
    tail = " · " + " · ".join(rest)
    return shorten(str(attrs["title"]), width_mm - text_width_mm(tail, style.SMALL), style.SMALL) + tail


def save_picture(figure: Figure, path: str | os.PathLike) -> None:
    """Write a figure as PNG (200 dpi, under 300 kB: else in 256 colours without dither) or, by the name's end, as PDF."""
    path = Path(path)
    if path.suffix.lower() == ".pdf":
        import matplotlib

        with fonts.quiet(), matplotlib.rc_context({"pdf.fonttype": 42}):  # real fonts: the text stays searchable
            figure.savefig(path, format="pdf", metadata={"CreationDate": None})
        return
    buffer = io.BytesIO()
    with fonts.quiet():
        figure.savefig(buffer, format="png", dpi=style.DPI)
    data = buffer.getvalue()
    if len(data) > LARGEST_PNG_BYTES:
        picture = Image.open(io.BytesIO(data)).convert("RGB")
        data = _png_bytes(picture)
        if len(data) > LARGEST_PNG_BYTES:
            data = _png_bytes(_in_256_colours(picture))
    path.write_bytes(data)


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
