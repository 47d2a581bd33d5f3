"""The same marks as `Page`, as SVG that stands inside a page of HTML.

    page = SvgPage(88, margin_mm=0, prefix="plan")       # patterns get the ids plan-..., which must be unlike in one document
    view = PlanView(page, fence, 0, 0, 88, 60)           # any drawing code of the pictures
    page.set_height(view.height)
    text = page.svg("Plan of the fence in heavy rain")   # bytes depend on what was drawn alone

What it writes holds under a strict policy of content: presentation attributes alone, no style, no script, no reference outwards.
Every text is escaped here. Coordinates are hundredths of a millimetre (the view box has millimetres). Fills of touching cells are
one path a colour, hatches and dots are patterns, marks in a row with the same ink are joined, so that a long fence stays small.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from itertools import groupby
from typing import Any
from xml.sax.saxutils import escape, quoteattr

import numpy as np
from numpy.typing import ArrayLike

from fencecast.show.paper import style
from fencecast.show.paper.surface import LEAST_SLICE_MM, STACK_POINTS, Fill, Surface, step_line, touching_runs
from fencecast.show.paper.svgpath import Subpath, hundredths, number, one_way_round, path_data, subpaths
from fencecast.show.paper.text import text_extent_mm, text_width_mm

ANCHORS = {"left": None, "center": "middle", "right": "end"}
PLATE_MM = 0.8 * style.MM_PER_POINT  # around a text with white under it
SEAM_MM = 0.06  # a stroke in the cells' own colour: printed at another scale, paper would show between two colours
_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
Attributes = Mapping[str, str | None]


class SvgPage(Surface):
    """A page as SVG. prefix: of the ids of its patterns; two pages of one document need two prefixes. None: no patterns and no
    ids, but hatches and dots one by one, for a small figure that a document has many of."""

    def __init__(self, width_mm: float = style.PAGE_WIDTH_MM, margin_mm: float = style.MARGIN_MM, prefix: str | None = "f"):
        super().__init__(width_mm, margin_mm)
        if prefix is not None and not re.fullmatch("[a-z][a-z0-9-]*", prefix):
            raise ValueError(f"a prefix of ids has small letters, digits and hyphens, not {prefix!r}")
        self.prefix = prefix
        self._marks: list[tuple[float, str, tuple[tuple[str, str], ...], Any]] = []  # zorder, element, attributes, content
        self._patterns: dict[str, str] = {}

    def set_height(self, height_mm: float) -> None:
        self.height_mm = height_mm

    def svg(self, label: str = "", desc: str = "", css_class: str = "", more: str = "") -> str:
        """The whole element. label: what it shows, for those who do not see it; without one it is decoration, hidden from them.

        desc: more of that. css_class: names for the page's own sheet. more: markup made by `element` that lies on top.

        The label is an attribute and no `<title>`, which browsers show as a box under the pointer, over the very figure.
        """
        told = {"role": "img", "aria-label": label} if label else {"aria-hidden": "true", "focusable": "false"}
        root = {"class": css_class or None, "viewBox": f"0 0 {number(self.width_mm)} {number(self.height_mm)}", **told}
        root |= {"font-family": "sans-serif", "preserveAspectRatio": "xMidYMin meet"}
        inside = element("desc", {}, escape(clean(desc))) if desc else ""
        if self._patterns:
            inside += element("defs", {}, "".join(self._patterns.values()))
        return element("svg", root, inside + self._drawn() + more)

    def _drawn(self) -> str:
        parts = []
        ordered = sorted(self._marks, key=lambda mark: mark[0])  # stable: of equal ones the later lies above
        for (name, attributes), marks in groupby(ordered, key=lambda mark: mark[1:3]):
            if name == "path":
                parts.append(element("path", {"d": path_data(s for *_, found in marks for s in found), **dict(attributes)}))
            else:
                parts += [element(name, dict(attributes), content) for *_, content in marks]
        return "".join(parts)

    def raw(self, name: str, attributes: Attributes, zorder: float, content: str = "") -> None:
        """An element by itself: what a script of the page takes hold of. content: markup made by `element`."""
        self._marks.append((zorder, name, tuple((k, v) for k, v in attributes.items() if v is not None), content))

    def _path(self, found: list[Subpath], zorder: float, attributes: Attributes) -> None:
        if found:
            self._marks.append((zorder, "path", tuple((k, v) for k, v in attributes.items() if v is not None), found))

    # --- marks -----------------------------------------------------------------------------------------------------

    def text(
        self, x: float, y: float, text: str, size: float = style.LABEL, weight: str = "normal", colour: str = style.INK,
        ha: str = "left", va: str = "baseline", plate: bool = False, zorder: float = 10,
    ) -> None:  # fmt: skip
        above, below = text_extent_mm(text, size, weight)
        baseline = y + {"baseline": 0.0, "center": 0.5 * (above - below), "center_baseline": 0.5 * above}[va]
        if plate:
            width = text_width_mm(text, size, weight)
            left = x - {"left": 0.0, "center": 0.5, "right": 1.0}[ha] * width - PLATE_MM
            self.rect(
                left, baseline - above - PLATE_MM, width + 2 * PLATE_MM, above + below + 2 * PLATE_MM, fill=style.PAPER,
                zorder=zorder,
            )  # fmt: skip
        attributes = {
            "x": number(x), "y": number(baseline), "font-size": number(size * style.MM_PER_POINT), "text-anchor": ANCHORS[ha],
            "font-weight": "700" if weight == "bold" else None, "fill": colour,
            "xml:space": "preserve" if "  " in text else None,  # else two blanks become one
        }  # fmt: skip
        self.raw("text", attributes, zorder, escape(clean(text)))

    def line(
        self, xs: ArrayLike, ys: ArrayLike, colour: str = style.INK, points: float = 0.6, zorder: float = 4,
        dashes: Sequence[float] | None = None, solid_joinstyle: str = "round", alpha: float | None = None,
    ) -> None:  # fmt: skip
        found = subpaths(np.column_stack([xs, ys]), False)
        corners = any(len(points_mm) > 2 for points_mm, _ in found)
        attributes = stroke(colour, points) | {
            "stroke-dasharray": dashes and " ".join(number(d * points * style.MM_PER_POINT) for d in dashes),
            "stroke-linejoin": "round" if corners and solid_joinstyle == "round" else None,
            "stroke-opacity": _share(alpha),
        }
        self._path(found, zorder, {"fill": "none", **attributes})

    def rect(
        self, x: float, y: float, width: float, height: float, fill: str | None = None, edge: str | None = None,
        points: float = 0.5, zorder: float = 2, alpha: float | None = None,
    ) -> None:  # fmt: skip
        corners = [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]
        self.polygon(corners, fill, edge, points, zorder, alpha=alpha)

    def polygon(
        self, corners_mm: ArrayLike, fill: str | None = None, edge: str | None = None, points: float = 0.5,
        zorder: float = 2, closed: bool = True, alpha: float | None = None,
    ) -> None:  # fmt: skip
        attributes = {"fill": fill or "none", **(stroke(edge, points) if edge else {}), "opacity": _share(alpha)}
        self._path(subpaths(one_way_round(corners_mm), closed), zorder, attributes)

    def polygons(
        self, many_corners_mm: Sequence[ArrayLike], fills: Sequence[str], zorder: float = 2, alpha: float | None = None
    ) -> None:
        inks: dict[str, list[Subpath]] = {}
        for corners, fill in zip(many_corners_mm, fills, strict=True):
            inks.setdefault(fill, []).extend(subpaths(one_way_round(corners), True))
        for fill, found in inks.items():
            self._path(found, zorder, {**cell_ink(fill, seam=alpha is None), "opacity": _share(alpha)})

    def segments(
        self, segments_mm: Any, colour: str = style.INK, points: float = style.HATCH_POINTS, zorder: float = 3,
        capstyle: str = "butt",
    ) -> None:  # fmt: skip
        found = [subpath for ends in segments_mm for subpath in subpaths(ends, False)]
        square = {"stroke-linecap": "square" if capstyle == "projecting" else None}
        self._path(found, zorder, {"fill": "none", **stroke(colour, points), **square})

    def hatch(
        self, corners_mm: ArrayLike, colour: str = style.INK, direction: str = "rising",
        spacing_mm: float = style.HATCH_SPACING_MM, zorder: float = 3,
    ) -> None:  # fmt: skip
        if self.prefix is None:
            self.segments(style.hatch_segments(corners_mm, spacing_mm, direction), colour, style.HATCH_POINTS, zorder)
            return
        self._path(subpaths(one_way_round(corners_mm), True), zorder, {"fill": self.hatched(colour, direction, spacing_mm)})

    def no_data(self, corners_mm: ArrayLike, zorder: float = 2.5) -> None:
        found = subpaths(one_way_round(corners_mm), True)
        self._path(found, zorder, {"fill": style.PAPER, **stroke(style.LINE, 0.4)})
        if self.prefix is None:
            self.dots(style.dot_points(corners_mm), zorder=zorder + 0.1)
            return
        self._path(found, zorder + 0.1, {"fill": self.dotted()})

    def dot(
        self, x: float, y: float, diameter_mm: float = 1.0, colour: str = style.INK, edge: str | None = None, zorder: float = 6
    ) -> None:
        attributes = {"cx": number(x), "cy": number(y), "r": number(0.5 * diameter_mm), "fill": colour}
        self.raw("circle", attributes | (stroke(edge, 0.6) if edge else {}), zorder)

    def dots(self, centres_mm: np.ndarray, colour: str = style.SECOND, zorder: float = 2.6) -> None:
        found: list[Subpath] = [([(hundredths(x), hundredths(y))], True) for x, y in centres_mm]
        attributes = {"fill": "none", "stroke": colour, "stroke-width": number(style.DOT_MM), "stroke-linecap": "round"}
        self._path(found, zorder, attributes)

    def stack(
        self, edges: Sequence[tuple[float, float]], tops: np.ndarray, base: float, fills: Sequence[Fill], zorder: float = 2
    ) -> None:
        """Slices in the order of painters: the whole stack in the ink of its top slice, over it the stack without that slice, ...

        A slice then is one outline, half as long as cells by themselves, and its line is the outline's own.
        """
        under = np.vstack([np.full(len(edges), base), tops[:-1]])
        for fill, levels, below in reversed(list(zip(fills, tops, under))):
            if not np.any(below - levels >= LEAST_SLICE_MM):
                continue  # nothing of this slice would be seen
            ink = fill.colour
            if fill.direction and fill.hatch and fill.spacing_mm:
                ink = self.hatched(fill.hatch, fill.direction, fill.spacing_mm, under=fill.colour)
            found = []
            for run in touching_runs(edges):
                corners = step_line(edges[run], levels[run])
                found += subpaths([(corners[0][0], base), *corners, (corners[-1][0], base)], True)
            self._path(found, zorder, {"fill": ink, **stroke(style.INK, STACK_POINTS)})

    def cells(
        self, x: float, y: float, steps: np.ndarray, colours: Sequence[str], pixels: tuple[int, int], zorder: float = 2
    ) -> None:
        across, down = (each * style.PIXEL_MM for each in pixels)
        boxes, fills = [], []
        for column, steps_down in enumerate(steps.T):
            row = 0
            for step, run in groupby(steps_down.tolist()):
                stop = row + len(list(run))
                left, top, right, low = x + column * across, y + row * down, x + (column + 1) * across, y + stop * down
                boxes.append([(left, top), (right, top), (right, low), (left, low)])
                fills.append(colours[step])
                row = stop
        self.polygons(boxes, fills, zorder)

    # --- patterns ----------------------------------------------------------------------------------------------------

    def hatched(self, colour: str, direction: str = "rising", spacing_mm: float = style.HATCH_SPACING_MM, under: str = "") -> str:
        """`url(#id)` of a hatch in the page's one phase; `under` is the colour between its lines, '' for none."""
        inks = (ink.strip("#").lower() for ink in (colour, under) if ink)
        name = "-".join([direction, number(spacing_mm).strip("."), *inks])
        s, turn = number(spacing_mm), {"rising": " rotate(45)", "falling": " rotate(-45)", "upright": ""}[direction]
        # The line stands in the middle of its tile, which is moved back by half: no line is cut at the edge of a tile.
        lines = element("path", {"d": f"M{number(0.5 * spacing_mm)} 0v{s}", "fill": "none", **stroke(colour, style.HATCH_POINTS)})
        ground = element("path", {"d": f"M0 0h{s}v{s}h-{s}z", "fill": under}) if under else ""
        moved = f"{turn} translate({number(-0.5 * spacing_mm)})".strip()
        return self._pattern(name, spacing_mm, spacing_mm, moved, ground + lines)

    def dotted(self, ground: bool = False) -> str:
        """`url(#id)` of the dots of 'no data' in the page's one phase, on white when `ground`."""
        wide, r = style.DOT_SPACING_MM, number(0.5 * style.DOT_MM)
        spots = ((0.25 * wide, 0.5 * wide), (0.75 * wide, 1.5 * wide))
        dots = "".join(element("circle", {"cx": number(x), "cy": number(y), "r": r, "fill": style.SECOND}) for x, y in spots)
        paper = element("path", {"d": f"M0 0h{number(wide)}v{number(2 * wide)}h-{number(wide)}z", "fill": style.PAPER})
        moved = f"translate({number(-0.25 * wide)} {number(-0.5 * wide)})"
        return self._pattern("dots-paper" if ground else "dots", wide, 2 * wide, moved, (paper if ground else "") + dots)

    def _pattern(self, name: str, width_mm: float, height_mm: float, moved: str, content: str) -> str:
        name = f"{self.prefix}-{name}"
        attributes = {"id": name, "width": number(width_mm), "height": number(height_mm)}
        attributes |= {"patternUnits": "userSpaceOnUse", "patternTransform": moved}
        self._patterns.setdefault(name, element("pattern", attributes, content))
        return f"url(#{name})"


def stroke(colour: str, points: float) -> dict[str, str]:
    """Attributes of a line: its colour and its width [pt]."""
    return {"stroke": colour, "stroke-width": number(points * style.MM_PER_POINT)}


def cell_ink(fill: str, seam: bool = True) -> dict[str, str]:
    """Attributes of cells that touch others: edges sharp on a screen, and `seam` closes hairs of paper in print."""
    closed = {"stroke": fill, "stroke-width": number(SEAM_MM)} if seam else {}
    return {"fill": fill, **closed, "shape-rendering": "crispEdges"}


def element(name: str, attributes: Attributes, content: str = "") -> str:
    """One element with its attributes escaped; `content` is markup. An attribute that is None is left out."""
    written = "".join(f" {key}={_quoted(value)}" for key, value in attributes.items() if value is not None)
    return f"<{name}{written}>{content}</{name}>" if content else f"<{name}{written}/>"


def clean(text: str) -> str:
    """A text without signs that no XML may hold, each replaced by the mark for that."""
    return _NOT_XML.sub("\ufffd", text)


def _quoted(value: str) -> str:
    return quoteattr(clean(value), {'"': "&quot;"})


def _share(alpha: float | None) -> str | None:
    return None if alpha is None else number(alpha)
