"""The fence unrolled: sections side by side in walking order, one scale for all; shared by the strip, the causes, the sheet."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

import numpy as np
from shapely import LineString, Point

from fencecast.estimate.places import Run, Section, runs_of
from fencecast.estimate.sight import views_of
from fencecast.findings.words import feet, whole
from fencecast.show.fence.data import Fence, FenceRow
from fencecast.show.paper import style
from fencecast.show.paper.labels import in_levels, short_marks, tick_step
from fencecast.show.paper.surface import Surface
from fencecast.show.paper.text import text_width_mm, wrap
from fencecast.site import Site
from fencecast.site.schema import Perimeter

GAP_MM = 3.0
END_LINES_FROM_MM = 1.5  # runs wider than this get thin end lines
LEAST_RAIL_MM = 0.35  # a rail narrower than this would vanish in print
BEND_DEG = 5.0  # corners sharper than this get a notch
LOOK_M = 60.0  # how far along a fence a camera is taken to look


class Unrolled:
    """Where every metre of fence lies between `left` and `right` [mm], and the pieces drawn around the rows."""

    def __init__(self, page: Surface, fence: Fence, left: float, right: float):
        self.page, self.fence, self.site, self.sections = page, fence, fence.site, fence.sections
        self.left, self.right = left, right
        sections = fence.sections
        total = sum(section.length_m for section in sections)
        gap = min(GAP_MM, 0.25 * (right - left) / max(1, len(sections) - 1))
        self.scale = (right - left - gap * (len(sections) - 1)) / total
        self.begins, x = [], left
        for section in sections:
            self.begins.append(x)
            x += section.length_m * self.scale + gap
        self.perimeters = {p.name: p for p in fence.site.perimeter}
        self.marks, self.mark_key = short_marks([c.mark for c in fence.site.camera])
        self.name_key = ""
        self.lost: dict[str, tuple[int, float]] = {}  # cameras that are gone, with section and chainage: drawn as open dots

    def x(self, section: int, chainage_m: float) -> float:
        """Page x of a chainage in a section."""
        return self.begins[section] + chainage_m * self.scale

    def span(self, section: int, first: int, stop: int) -> tuple[float, float]:
        """Page x of both ends of segments first..stop-1."""
        return self.x(section, self.fence.start_m[first]), self.x(section, self.fence.end_m[stop - 1])

    # --- above the rows ----------------------------------------------------------------------------------------------

    def head(self, y: float) -> float:
        """Brackets with names, bends and cameras, from y down; returns the y of the camera dots, where rows may begin."""
        names = {}
        for k, section in enumerate(self.sections):
            width = section.length_m * self.scale
            lines = wrap(f"{section.letter}  {section.name}", max(width + 1.0, 1.0), style.LABEL, "bold")
            fits = len(lines) <= 2 and not any("…" in line for line in lines)
            names[k] = lines if fits else [section.letter]
        unnamed = [s for k, s in enumerate(self.sections) if names[k] == [s.letter] and s.name != s.letter]
        self.name_key = " · ".join(f"{s.letter} = {s.name}" for s in unnamed)
        most = max(len(lines) for lines in names.values())
        bracket = y + 2.6 + 3.0 * (most - 1) + 1.3
        for k, section in enumerate(self.sections):
            x0, x1 = self.x(k, 0.0), self.x(k, section.length_m)
            for i, line in enumerate(names[k]):
                alone = names[k] == [section.letter]
                at, where = (0.5 * (x0 + x1), "center") if alone else (x0, "left")
                self.page.text(at, bracket - 1.3 - 3.0 * (len(names[k]) - 1 - i), line, weight="bold", ha=where)
            arms = [bracket + 1.0, bracket, bracket, bracket + 1.0]
            self.page.line([x0, x0, x1, x1], arms, points=0.8, solid_joinstyle="miter")
            for bend in self._bends(section):
                at = self.x(k, bend)
                notch = [(at - 0.8, bracket + 0.15), (at + 0.8, bracket + 0.15), (at, bracket + 1.1)]
                self.page.polygon(notch, fill=style.PAPER, edge=style.INK, points=0.6, zorder=5)
        return self._cameras(bracket + 1.2)

    def _cameras(self, y: float) -> float:
        spots: dict[float, list[str]] = {}
        there: set[float] = set()
        standing = {self.marks[mark]: spot for mark, spot in camera_spots(self.site, self.sections).items()}
        gone = {f"{mark} lost": spot for mark, spot in self.lost.items()}
        for text, (section, chainage) in (standing | gone).items():
            at = self.x(section, chainage)
            at = next((x for x in spots if abs(x - at) < 0.8), at)
            spots.setdefault(at, []).append(text)
            there |= {at} if text in standing else set()
        labels = [(", ".join(marks), x) for x, marks in spots.items()]
        placed = in_levels(labels, self.left - 4.0, self.right + 4.0, style.LABEL, levels=5)
        step = 3.0
        deepest = max((p.level for p in placed), default=0)
        dots = y + 3.4 + step * deepest + 2.2
        for p in placed:
            baseline = dots - 2.2 - step * p.level
            self.page.text(p.middle, baseline, p.text, ha="center")
            self.page.line([p.anchor, p.anchor], [baseline + 0.6, dots], points=0.6)
            gone_too = p.anchor not in there
            self.page.dot(
                p.anchor, dots, 0.9, colour=style.PAPER if gone_too else style.INK, edge=style.INK if gone_too else None
            )
        return dots

    def _bends(self, section: Section) -> list[float]:
        points = np.array(closed_points(self.perimeters[section.name]), dtype=float)
        edges = np.diff(points, axis=0)
        lengths = np.hypot(edges[:, 0], edges[:, 1])
        directions = np.degrees(np.arctan2(edges[:, 1], edges[:, 0]))
        turns = np.abs((np.diff(directions) + 180.0) % 360.0 - 180.0)
        return [float(at) for at, turn in zip(np.cumsum(lengths)[:-1], turns) if turn > BEND_DEG]

    # --- rows --------------------------------------------------------------------------------------------------------

    def row(self, y: float, height: float, row: FenceRow, ramp: style.Ramp) -> None:
        """One class: cells coloured by Pd, rails over weak runs, hatch over undecided ones, dots where there is no data."""
        pd = row.pd
        cells, fills = [], []
        for section in self.sections:
            x0, x1 = self.span(section.index, section.first, section.stop)
            self.page.rect(x0, y, x1 - x0, height, edge=style.LINE, points=0.5, zorder=4)
            for first, stop, colour in self._equal_colours(section, pd, ramp):
                a, b = self.span(section.index, first, stop)
                corners = [(a, y), (b, y), (b, y + height), (a, y + height)]
                cells.append(corners)
                fills.append(colour)
        self.page.polygons(cells, fills)
        for run in runs_of(row.verdict, self.sections):
            a, b = self.span(run.section, run.first, run.stop)
            if run.verdict == "weak":
                self.rails(a, b, (y - style.RAIL_MM, y + height))
                if b - a > END_LINES_FROM_MM:
                    for x in (a, b):
                        self.page.line([x, x], [y, y + height], points=0.6, zorder=5)
            elif run.verdict == "no data":
                self.page.no_data([(a, y), (b, y), (b, y + height), (a, y + height)], zorder=4.2)
            elif run.verdict == "undecided":
                self._hatch(run, y, height, pd, ramp)

    def rails(self, a: float, b: float, tops: Iterable[float]) -> None:
        """Black rails from a to b with their tops at the given y."""
        width = max(b - a, LEAST_RAIL_MM)
        for top in tops:
            self.page.rect(0.5 * (a + b - width), top, width, style.RAIL_MM, fill=style.INK, zorder=5)

    def _equal_colours(self, section: Section, pd: np.ndarray, ramp: style.Ramp) -> Iterator[tuple[int, int, str]]:
        first, current = section.first, None
        for i in range(section.first, section.stop + 1):
            colour = None if i == section.stop or math.isnan(pd[i]) else ramp.colour(pd[i])
            if i == section.stop or colour != current:
                if current is not None:
                    yield first, i, current
                first, current = i, colour

    def _hatch(self, run: Run, y: float, height: float, pd: np.ndarray, ramp: style.Ramp) -> None:
        # Split where the fill asks for another hatch colour; the phase is the page's, so the lines still join.
        first = run.first
        for i in range(run.first + 1, run.stop + 1):
            colour = style.hatch_colour(ramp.colour(pd[first]))
            if i == run.stop or style.hatch_colour(ramp.colour(pd[i])) != colour:
                a, b = self.span(run.section, first, i)
                self.page.hatch([(a, y), (b, y), (b, y + height), (a, y + height)], colour, zorder=4.5)
                first = i

    # --- below the rows ----------------------------------------------------------------------------------------------

    def axis(self, y: float, gates: bool = True) -> float:
        """Chainage ticks and labels of every section (feet below in US units), then gates; returns the y of the lowest text."""
        us = self.site.units == "us"
        step = tick_step(self.scale)
        free = -math.inf
        for k, section in enumerate(self.sections):
            x0, x1 = self.x(k, 0.0), self.x(k, section.length_m)
            self.page.line([x0, x1], [y, y], colour=style.LINE, points=0.5)
            minor = step / 5.0
            for i in range(int(section.length_m / minor + 1e-9) + 1):
                major = i % 5 == 0
                at = self.x(k, i * minor)
                if not major and minor * self.scale < 0.8:
                    continue
                self.page.line([at, at], [y, y + (1.2 if major else 0.7)], colour=style.LINE, points=0.5)
                if not major:
                    continue
                texts = [whole(i * minor)] + ([whole(feet(i * minor))] if us else [])
                half = 0.5 * max(text_width_mm(text, style.SMALL) for text in texts)
                middle = at + half - 0.3 if i == 0 else min(at, x1 + 1.2 - half)
                if middle - half < free + 1.0:
                    continue
                free = middle + half
                for j, text in enumerate(texts):
                    self.page.text(middle, y + 4.0 + 2.8 * j, text, size=style.SMALL, colour=style.SECOND, ha="center")
        bottom = y + (6.8 if us else 4.0)
        labels = ["chainage, m"] + (["feet"] if us else [])
        for j, text in enumerate(labels):
            self.page.text(self.left - 1.6, y + 4.0 + 2.8 * j, text, size=style.SMALL, colour=style.SECOND, ha="right")
        return self._gates(bottom) if gates else bottom

    def _gates(self, y: float) -> float:
        found = []
        for k, section in enumerate(self.sections):
            for gate in self.perimeters[section.name].gates:
                a, b = self.x(k, gate.from_m), self.x(k, gate.to_m)
                self.page.line([a, b], [y + 1.8] * 2, points=1.8)
                found.append((gate.name, 0.5 * (a + b)))
        if not found:
            return y
        placed = in_levels(found, self.left - 2.0, self.right + 2.0, style.LABEL, levels=3)
        for p in placed:
            self.page.text(p.middle, y + 4.9 + 2.9 * p.level, p.text, ha="center")
            if p.level:
                self.page.line([p.anchor] * 2, [y + 2.6, y + 2.6 + 2.9 * p.level], points=0.4, colour=style.LINE)
        return y + 4.9 + 2.9 * max(p.level for p in placed)

    def key_lines(self, y: float, more: Sequence[str] = ()) -> float:
        """Key lines for short section names and short marks, and more; returns the y of the last baseline (y when none)."""
        for line in self._key(more, self.page.right - self.page.left):
            y += 3.0
            self.page.text(self.page.left, y, line, size=style.SMALL, colour=style.SECOND)
        return y

    def count_key_lines(self, more: Sequence[str], width: float) -> int:
        """How many lines `key_lines` will write, once `head` has been drawn."""
        return len(self._key(more, width))

    def _key(self, more: Sequence[str], width: float) -> list[str]:
        return [line for text in self.key_texts(more) for line in wrap(text, width, style.SMALL)]

    def key_texts(self, more: Sequence[str] = ()) -> tuple[str, ...]:
        """What a key must say of short names and marks, and more, once `head` has been drawn; none twice."""
        return tuple(dict.fromkeys(text for text in (self.name_key, self.mark_key, *more) if text))

    def side(self) -> str:
        """'yard on your right', 'left', or both when the sections differ."""
        sides = {self.perimeters[section.name].inside for section in self.sections}
        return f"the yard on your {sides.pop()}" if len(sides) == 1 else "the yard on the side that its section says"


def open_rail(page: Surface, a: float, b: float, top: float) -> None:
    """A white rail with a black edge from a to b: weak where it was not."""
    width = max(b - a, 0.7)
    page.rect(0.5 * (a + b - width), top, width, style.RAIL_MM, fill=style.PAPER, edge=style.INK, points=0.6, zorder=5)


def closed_points(perimeter: Perimeter) -> list[tuple[float, float]]:
    """The corners of a perimeter, with the first one repeated when it is closed."""
    points = [tuple(p) for p in perimeter.points_m]
    return [*points, points[0]] if perimeter.closed else points


def camera_spots(site: Site, sections: Sequence[Section]) -> dict[str, tuple[int, float]]:
    """For every camera the section that it looks along and the chainage nearest to it.

    Of the sections about as near as the nearest (within 3 m), the one with most metres inside the camera's horizontal field:
    a camera at a corner stands next to two sections and watches one.
    """
    perimeters = {p.name: p for p in site.perimeter}
    lines = [LineString(closed_points(perimeters[section.name])) for section in sections]
    spots = {}
    for view in views_of(site):
        mast = Point(view.x_m, view.y_m)
        nearest = min(line.distance(mast) for line in lines)
        best, best_length = None, -1.0
        for k, line in enumerate(lines):
            if line.distance(mast) > nearest + 3.0:
                continue
            length = 0.0
            for at in np.arange(0.5, line.length, 1.0):
                point = line.interpolate(at)
                distance = view.distance_m(point.x, point.y)
                off = view.off_axis_rad(point.x, point.y)
                if distance <= LOOK_M and off <= 0.5 * view.horizontal_field_rad:
                    length += math.cos(off)
            if length > best_length:
                best, best_length = k, length
        spots[view.mark] = (best, float(lines[best].project(mast)))
    return spots
