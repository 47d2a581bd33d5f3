"""Labels on a plan, each on free ground: section letters, gates, numbers of places, numbers on leaders."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from typing import Any

import numpy as np
from shapely import LineString, Point, box
from shapely.geometry.base import BaseGeometry as Shape
from shapely.ops import unary_union

from fencecast.estimate.places import place_code
from fencecast.estimate.weakest import Place
from fencecast.show.fence.planview import OUTER_MM, PlanView
from fencecast.show.paper import style
from fencecast.show.paper.labels import joined_near
from fencecast.show.paper.surface import Surface
from fencecast.show.paper.text import text_width_mm

LEAST_LEADER_MM, SHORT_LEADER_MM, LONGEST_LEADER_MM = 0.6, 6.0, 10.0
TURNS = (0.0, 0.4, -0.4, 0.8, -0.8, 1.1, -1.1, 1.3, -1.3)  # of a leader from square to the fence [rad]
NUMBER_LINE_MM = 2.9
NEAR_GATE_MM = 3.0  # a name further from its gate needs a leader
APART_MM = 1.0  # air on both sides of a name: two on one line must not read as one


def text_box(text: str, x: float, y: float, size: float = style.LABEL, weight: str = "normal", air: float = 0.5) -> Shape:
    """The box of a text centred at (x, y), with `air` on both sides [mm]."""
    w, h = 0.5 * text_width_mm(text, size, weight) + air, 0.5 * 1.05 * size * style.MM_PER_POINT + 0.2
    return box(x - w, y - h, x + w, y + h)


def write(
    view: PlanView,
    lines: str | Sequence[str],
    spots: Iterable[Any],
    inside: bool | None = None,
    avoid: Sequence[Shape] = (),
    air: float = 0.5,
    accept: Callable[[Shape], bool] = lambda area: True,
    **how: Any,
) -> Shape | None:
    """Write a text of one or more lines centred at the first spot (x, y) where it fits; its box, or None.

    inside: True or False asks for a place within or without the yard. avoid: more shapes that it must not cover.
    air: on both sides of it [mm]. accept: whether its box will do.
    """
    lines = [lines] if isinstance(lines, str) else lines
    size, weight = how.get("size", style.LABEL), how.get("weight", "normal")
    how.setdefault("plate", view.plates)
    step = 1.2 * size * style.MM_PER_POINT
    for x, y in spots:
        tops = [y + step * (i - 0.5 * (len(lines) - 1)) for i in range(len(lines))]
        area = unary_union([text_box(line, x, top, size, weight, air) for line, top in zip(lines, tops)]).envelope
        if view.free(area, inside) and not any(area.intersects(shape) for shape in avoid) and accept(area):
            for line, top in zip(lines, tops):
                view.page.text(x, top, line, ha="center", va="center", **how)
            view.taken.append(area)
            return area
    return None


def letters(view: PlanView, size: float = style.LABEL, **how: Any) -> None:
    """Section letters outside the band, near the middle of each section."""
    for k, section in enumerate(view.sections):
        spots = []
        for share in (0.5, 0.42, 0.58, 0.33, 0.67, 0.2, 0.8):
            at = section.length_m * share
            for off in (1.75, 2.4, 3.4):
                spots.append(view.band.point(k, at, 0.0) + (OUTER_MM + style.PLAN_RAIL_MM + off) * view.band.normal(k, at))
        write(view, section.letter, spots, size=size, air=APART_MM, **how)


def numbered_places(view: PlanView, places: Sequence[Place]) -> None:
    """Numbers in circles beside the places, outside the band, as near to the lowest segment as fits."""
    owner = {i: s for s in view.sections for i in range(s.first, s.stop)}
    middles = view.fence.chainage_m
    for n, place in enumerate(places):
        lowest = place.segment
        order = sorted(place.segments, key=lambda i: (owner[i] is not owner[lowest], abs(middles[i] - middles[lowest])))
        spots = []
        for side in (1.0, -1.0):
            for off in (2.1, 3.0, 4.4):
                for i in order[:: max(1, len(order) // 12)]:
                    k, at = owner[i].index, float(middles[i])
                    reach = OUTER_MM + style.PLAN_RAIL_MM + off if side > 0 else off
                    spots.append((k, at, side * reach, 0.0))
        k, at = owner[lowest].index, float(middles[lowest])
        spots += [(k, at, -off, aside) for off in (5.5, 7.5, 10.0, 13.0) for aside in (0.0, 4.0, -4.0)]  # with a leader
        for k, at, reach, aside in spots:
            foot, normal = view.band.point(k, at, 0.0), view.band.normal(k, at)
            x, y = foot + reach * normal + aside * np.array([normal[1], -normal[0]])
            area = box(x - 1.9, y - 1.9, x + 1.9, y + 1.9)
            if view.free(area):
                if reach < -5.0:
                    view.page.line(*zip(foot - 0.6 * normal, (x, y)), points=0.6, zorder=7)
                circled(view.page, x, y, str(n + 1))
                view.taken.append(area)
                break


def circled(page: Surface, x: float, y: float, text: str) -> None:
    """A number in a circle of 3.2 mm, centred at (x, y)."""
    page.dot(x, y, 3.2, colour=style.PAPER, edge=style.INK, zorder=8)
    page.text(x, y + 0.05, text, size=style.SMALL, weight="bold", ha="center", va="center_baseline")


def gate_names(view: PlanView, size: float = style.LABEL) -> str:
    """Names of gates inside the yard, near ones joined; returns a key line for those that found no room."""
    left_over = []
    perimeters = {p.name: p for p in view.site.perimeter}
    gates, spots = [], []
    for k, section in enumerate(view.sections):
        for gate in perimeters[section.name].gates:
            spots.append((len(gates), *view.band.point(k, 0.5 * (gate.from_m + gate.to_m), 0.0)))
            gates.append((k, gate))
    for numbers, x, y in joined_near(spots, 6.0):
        k, first = gates[numbers[0]]
        names = [gates[n][1].name for n in numbers]
        middle = 0.5 * (first.from_m + first.to_m)
        inward = -view.band.normal(k, middle)
        along = np.array([-inward[1], inward[0]])
        area, gate_spot = None, Point(x, y)

        def reached(box: Shape, spot: Point = gate_spot, inward: np.ndarray = inward) -> bool:
            leader = _gate_leader(spot, inward, box)
            return box.distance(spot) <= NEAR_GATE_MM or not any(leader.intersects(taken) for taken in view.taken)

        for lines in ([", ".join(names)], [f"{name}," for name in names[:-1]] + names[-1:]):
            half = 0.5 * max(text_width_mm(line, size) for line in lines)
            reach = abs(inward[0]) * half + abs(inward[1]) * 1.4 * len(lines)
            tries = [
                np.array([x, y]) + inward * (reach + off) + along * side * (abs(along[0]) * half + abs(along[1]) * 2.0)
                for off in (1.2, 2.4, 3.6, 5.0, 6.5, 8.5)
                for side in (0.0, 0.7, -0.7)
            ]
            for inside in (True, None):
                area = area or write(view, lines, tries, inside=inside, size=size, air=APART_MM, accept=reached)
        if area is None:
            for own, gate in (gates[n] for n in numbers):
                left_over.append(f"{place_code(view.sections[own].letter, gate.from_m, gate.to_m)} = {gate.name}")
        elif area.distance(gate_spot) > NEAR_GATE_MM:
            view.page.line(*_gate_leader(gate_spot, inward, area).xy, colour=style.LINE, points=0.5, zorder=7)
    return "Gates: " + " · ".join(left_over) if left_over else ""


def _gate_leader(gate: Point, inward: np.ndarray, area: Shape) -> LineString:
    start = Point(gate.x + 0.9 * inward[0], gate.y + 0.9 * inward[1])
    return LineString([start, area.exterior.interpolate(area.exterior.project(start))])


def number(view: PlanView, pd: str, code: str, k: int, chainage: float, least: float = LEAST_LEADER_MM) -> bool:
    """A Pd, or another number, in bold with the code of its place, on a short leader to that place; False when there is no room.

    k, chainage: section and chainage [m] of the place that the code names; the leader ends there and nowhere else. Outside the
    fence where it fits, on one line or on two, else inside the yard; only when no other way is left does the leader cross thin
    lines or the stroke of a camera; it never crosses a building or another leader. least: its length [mm].
    """
    clear, looks, dots = view.strokes + view.looks + view.thin, view.strokes + view.looks, view.strokes
    tries = [(-1.0, dots, SHORT_LEADER_MM)]
    tries += [(1.0, obstacles, most) for most in (SHORT_LEADER_MM, LONGEST_LEADER_MM) for obstacles in (clear, looks, dots)]
    forms = ([f"{pd}  at {code}"], [pd, code])
    return any(_number_at(view, lines, k, chainage, *each, least) for each in tries for lines in forms)


def _number_at(
    view: PlanView, lines: list[str], k: int, chainage: float, side: float, obstacles: Sequence[Shape], longest: float,
    least: float,
) -> bool:  # fmt: skip
    """side: 1 inside the yard, -1 outside the band."""
    start = view.band.point(k, chainage, -0.6 if side > 0 else OUTER_MM + style.PLAN_RAIL_MM + 0.2)
    away = -side * view.band.normal(k, chainage)
    half = 0.5 * max(text_width_mm(line, style.LABEL, "bold") for line in lines)
    high = 0.5 * NUMBER_LINE_MM * len(lines)
    for length in np.arange(max(3.0, least) if side > 0 else least, longest + 0.01, 1.0):
        for turn in TURNS if side > 0 else (0.0,):
            cos, sin = math.cos(turn), math.sin(turn)
            ray = np.array([away[0] * cos - away[1] * sin, away[0] * sin + away[1] * cos])
            end = start + length * ray
            leader = LineString([start, end])
            if any(leader.intersects(obstacle) for obstacle in obstacles):
                continue
            for x, y in _beyond(end, ray, half, high):
                area = box(x - half - 0.5, y - high, x + half + 0.5, y + high)
                if not leader.intersects(area.buffer(-0.4)) and view.free(area, side > 0):
                    view.page.line(*zip(start, end), points=0.6, zorder=7)
                    for i, line in enumerate(lines):
                        top = y + NUMBER_LINE_MM * (i - 0.5 * (len(lines) - 1))
                        view.page.text(x, top, line, weight="bold", ha="center", va="center")
                    view.taken += [area, leader.buffer(0.6)] if least > LEAST_LEADER_MM else [area]  # names keep off a long one
                    view.strokes += [area, leader.buffer(0.6)]
                    return True
    return False


def _beyond(end: np.ndarray, ray: np.ndarray, half: float, high: float) -> list[np.ndarray]:
    """Where a text of half a width and height may stand at the end of a leader: beside, above or below it, also moved along."""
    if abs(ray[1]) <= 0.3:
        return [end + np.array([np.sign(ray[0]) * (half + 0.6), 0.0])]
    aside = np.sign(ray[0]) * min(half, 1.6 * half * abs(ray[0]))
    return [end + np.array([shift, np.sign(ray[1]) * (high + 0.4)]) for shift in (aside, 0.8 * half, -0.8 * half)]
