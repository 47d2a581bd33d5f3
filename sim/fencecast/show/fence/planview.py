"""One plan of the site: fence, buildings, cameras, the band of one weather class, and labels that find free ground."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from shapely import LineString, Point, Polygon, box
from shapely.geometry.base import BaseGeometry as Shape
from shapely.ops import unary_union

from fencecast.estimate.places import Section, runs_of
from fencecast.show.fence.band import GAP_MM, WIDTH_MM, Band
from fencecast.show.fence.data import Fence, FenceRow
from fencecast.show.fence.planframe import LEAST_INSIDE_MM, Ground
from fencecast.show.paper import style
from fencecast.show.paper.surface import Surface
from fencecast.site.schema import Camera

OUTER_MM = GAP_MM + WIDTH_MM
STROKE_MM = 3.2
END_LINES_FROM_MM = 1.5
CAMERA_OFF_LINE_MM = 1.2


class PlanView:
    """A plan whose upper left corner is at (x, y); `width` and `most_height` bound it [mm].

    turn_deg: how far it is turned, clockwise; 0 has grid north up. inside_mm: least room
    beside a fence that encloses nothing.
    """

    def __init__(
        self,
        page: Surface,
        fence: Fence,
        x: float,
        y: float,
        width: float,
        most_height: float,
        turn_deg: float = 0.0,
        inside_mm: float = LEAST_INSIDE_MM,
    ):
        site, sections = fence.site, fence.sections
        self.page, self.fence, self.site, self.sections = page, fence, site, sections
        ground = Ground(site, x, y, width, most_height, turn_deg, inside_mm)
        self.scale, self.turn_deg, self.to_page, self.to_ground = ground.scale, turn_deg, ground.to_page, ground.to_ground
        self.x, self.y, self.width, self.height = x, y, width, ground.height
        self.band = Band(site, sections, self.to_page)
        self.yard = self._yard()
        self.buildings = [(o.name, Polygon([self.to_page(*p) for p in o.footprint_m])) for o in site.obstacle]
        edge = OUTER_MM + style.PLAN_RAIL_MM
        self.band_area = unary_union(
            [Polygon(q).buffer(0.01) for k, s in enumerate(sections) for q in self.band.quads(k, 0.0, s.length_m, -0.3, edge)]
        )
        self.slack = (1.5, 0.0, 0.0)  # how far labels may leave the plan's own rectangle sideways, up, and down [mm]
        self.taken: list[Shape] = []  # what labels must not cover, beside the band
        self.thin: list[Shape] = []  # thin lines that labels had better not cover
        self.strokes: list[Shape] = []  # what leaders must not cross
        self.plates = False  # white under labels: where a picture of the ground is drawn
        self.looks: list[Shape] = []  # the strokes of cameras: what leaders had better not cross
        self.cameras = [self._camera_spot(c) for c in site.camera]

    def _yard(self) -> Shape | None:
        """The enclosed ground on the page, None when the sections close no ring."""
        rings = []
        for k, section in enumerate(self.sections):
            chain, at = [k], section.following
            while at is not None and at not in chain:
                chain.append(at)
                at = self.sections[at].following
            if at == k and k == min(chain):
                ring = Polygon(np.vstack([self.band.lines[j] for j in chain]))
                if ring.is_valid and ring.area > 0:
                    rings.append(ring)
        return unary_union(rings) if rings else None

    def _camera_spot(self, camera: Camera) -> np.ndarray:
        """Where the dot is drawn: at its place, but at least 1.2 mm inside the fence line, else its stroke hides in it."""
        spot = self.to_page(*camera.position_m)
        for k, line in enumerate(self.band.lines):
            shape = LineString(line)
            nearest = shape.interpolate(shape.project(Point(spot)))
            if nearest.distance(Point(spot)) < CAMERA_OFF_LINE_MM:
                inward = -self.band.normal(k, shape.project(nearest) / self.scale)
                off = float((spot - np.array([nearest.x, nearest.y])) @ inward)
                spot = spot + inward * max(0.0, CAMERA_OFF_LINE_MM - off)
        return spot

    # --- what is the same in every plan -------------------------------------------------------------------------------

    def base(self) -> None:
        """Yard, buildings, true fence line with its gates, cameras."""
        page = self.page
        if self.yard is not None:
            for part in getattr(self.yard, "geoms", [self.yard]):
                page.polygon(np.array(part.exterior.coords), fill=style.YARD, zorder=1)
        for _, shape in self.buildings:
            page.polygon(np.array(shape.exterior.coords), fill=style.BUILDING, edge=style.LINE, points=0.5, zorder=1.8)
            self.taken.append(shape.buffer(0.4))
            self.strokes.append(shape)
        perimeters = {p.name: p for p in self.site.perimeter}
        for k, section in enumerate(self.sections):
            perimeter = perimeters[section.name]
            how = {"points": 0.5, "dashes": (3, 2)} if perimeter.barrier == "none" else {"points": 0.9}
            at = 0.0
            for gate in sorted(perimeter.gates, key=lambda g: g.from_m):
                if gate.from_m > at:
                    self._fence_line(k, at, gate.from_m, how)
                for post in (gate.from_m, gate.to_m):
                    ends = np.array([self.band.point(k, post, 0.6), self.band.point(k, post, -0.6)])
                    page.line(ends[:, 0], ends[:, 1], points=0.9)
                at = gate.to_m
            if at < section.length_m:
                self._fence_line(k, at, section.length_m, how)
        for spot, camera in zip(self.cameras, self.site.camera):
            bearing = math.radians(camera.bearing_deg + self.turn_deg)
            end = spot + STROKE_MM * np.array([math.sin(bearing), -math.cos(bearing)])
            page.line([spot[0], end[0]], [spot[1], end[1]], points=1.0, zorder=6)
            page.dot(spot[0], spot[1], 1.0)
            self.taken.append(LineString([spot, end]).buffer(0.7))
            self.looks.append(LineString([spot, end]).buffer(0.2))
            self.strokes.append(Point(spot).buffer(0.55))

    def _fence_line(self, k: int, start: float, end: float, how: dict[str, Any]) -> None:
        line = self.band.path(k, start, end)
        self.page.line(line[:, 0], line[:, 1], solid_joinstyle="miter", **how)

    def frame(self, k: int, section: Section) -> None:
        """The empty band of section k: paper with a thin frame."""
        for quad in self.band.quads(k, 0.0, section.length_m):
            self.page.polygon(quad, fill=style.PAPER, zorder=1.5)
        for offset in (GAP_MM, OUTER_MM):
            line = self.band.path(k, 0.0, section.length_m, offset)
            self.page.line(line[:, 0], line[:, 1], colour=style.LINE, points=0.5, zorder=4)
        for end in (0.0, section.length_m):
            self.across(k, end, style.LINE, 0.5)

    def across(
        self, k: int, chainage: float, colour: str = style.INK, points: float = 0.6, zorder: float = 4, reach: float = 0.0
    ) -> None:
        """A line across the band at a chainage, `reach` [mm] beyond it."""
        ends = np.array([self.band.point(k, chainage, GAP_MM - 0.3 * reach), self.band.point(k, chainage, OUTER_MM + reach)])
        self.page.line(ends[:, 0], ends[:, 1], colour=colour, points=points, zorder=zorder)

    def empty_band(self) -> float:
        """The band without colours, with chainage ticks; returns the metres between ticks."""
        step = next((s for s in (2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0) if s * self.scale >= 4.5), 1000.0)
        for k, section in enumerate(self.sections):
            self.frame(k, section)
            for chainage in np.arange(0.0, section.length_m + 1e-9, step):
                self.across(k, chainage, style.INK, 0.6, zorder=5)
        return step

    def band_of(self, row: FenceRow, ramp: style.Ramp) -> None:
        """The band of one class: colours, rails, hatches, dots, white cuts at joints."""
        page, pd = self.page, row.pd
        cells, fills = [], []
        for k, section in enumerate(self.sections):
            self.frame(k, section)
            for i in range(section.first, section.stop):
                if not math.isnan(pd[i]):
                    quads = self.band.quads(k, self.fence.start_m[i], self.fence.end_m[i])
                    cells += quads
                    fills += [ramp.colour(pd[i])] * len(quads)
        page.polygons(cells, fills)
        for run in runs_of(row.verdict, self.sections):
            k, start, end = run.section, self.fence.start_m[run.first], self.fence.end_m[run.stop - 1]
            if run.verdict == "weak":
                rail = self.band.quads(k, start, end, OUTER_MM, OUTER_MM + style.PLAN_RAIL_MM)
                page.polygons(rail, [style.INK] * len(rail), zorder=5)
                if self.band.length_mm(k, start, end) > END_LINES_FROM_MM:
                    for chainage in (start, end):
                        self.across(k, chainage, zorder=5)
            elif run.verdict == "undecided":
                for i in range(run.first, run.stop):
                    for quad in self.band.quads(k, self.fence.start_m[i], self.fence.end_m[i]):
                        page.hatch(quad, style.hatch_colour(ramp.colour(pd[i])), zorder=4.5)
            elif run.verdict == "no data":
                for quad in self.band.quads(k, start, end):
                    page.no_data(quad, zorder=3.5)
        self.joints()

    def joints(self) -> None:
        """White cuts through the band where a section goes on in the next."""
        for k, section in enumerate(self.sections):
            if section.following is not None:
                self.across(k, section.length_m, style.PAPER, 1.6, zorder=5.5, reach=1.0)

    def free(self, area: Shape, inside: bool | None = None) -> bool:
        """Whether a label's box lies on free ground of this plan: off the band, buildings, cameras and other labels."""
        if area.intersects(self.band_area) or any(area.intersects(other) for other in self.taken):
            return False
        aside, up, down = self.slack
        ground = box(self.x - aside, self.y - up, self.x + self.width + aside, self.y + self.height + down)
        if not ground.contains(area):
            return False
        if inside is None or self.yard is None:
            return True
        return self.yard.contains(area) if inside else not self.yard.intersects(area)
