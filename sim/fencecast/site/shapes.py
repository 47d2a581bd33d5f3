"""Checks of what stands on the plan: perimeters, gates, obstacles, the lines of rules, cameras in buildings."""

from __future__ import annotations

from types import SimpleNamespace

import shapely

from fencecast.errors import show_value
from fencecast.site.fill import without_repeat
from fencecast.site.geometry import (
    SHORTEST_EDGE_M,
    first_crossing,
    mitred_offset,
    ring_points,
    section_length_m,
    segment_count,
    short_edge,
    signed_area_m2,
)
from fencecast.site.reading import Draft, Entry

MOST_SEGMENTS = 20_000
_TOUCH_M = 1e-6


def check_shapes(draft: Draft) -> None:
    """Adds a problem for everything on the plan that cannot be."""
    good = {}
    for entry in draft.repeated["perimeter"]:
        section = _perimeter(draft, entry)
        if section:
            _gates(draft, entry, section)
            good[entry.name] = section
    _segments(draft, good)
    footprints = [found for entry in draft.repeated["obstacle"] if (found := _footprint(draft, entry))]
    for entry in draft.repeated["camera"]:
        _inside(draft, entry, footprints)
    for section in good.values():
        _through(draft, section, footprints)
    for entry in draft.repeated["rule"]:
        _rule_line(draft, entry, good)
    for entry in draft.repeated["land"]:
        _land(draft, entry)


def _line(draft: Draft, where: str, key: str, points: tuple, closed: bool) -> bool:
    """Whether a line has no edge without a length and does not meet itself; adds the problem when it has or does."""
    number = short_edge(points, closed)
    if number is not None:
        other = "the one before it" if number < len(points) or not closed else "its neighbours"
        draft.refuse(
            f"{where} {key} point {number}",
            points[number - 1],
            f"a point at least {SHORTEST_EDGE_M:g} m from {other}: an edge of no length has no direction; leave the point out",
        )
        return False
    crossing = first_crossing(points, closed)
    if crossing is not None:
        one, two, (x, y) = crossing
        draft.refuse(
            f"{where} {key}",
            points,
            f"a {'ring' if closed else 'line'} that does not cross or touch itself; edges {one} and {two} "
            f"(edge 1 runs from point 1 to point 2) meet at [{x:.6g}, {y:.6g}]",
        )
    return crossing is None


def _perimeter(draft: Draft, entry: Entry) -> SimpleNamespace | None:
    """The section, ready for measuring, or None when it has no usable shape."""
    table = entry.table
    if not entry.has("points_m", "closed"):
        return None
    points = table.points_m
    if table.closed:
        points = without_repeat(points)
        if len(points) < 3:
            draft.refuse(f"{entry.where} points_m", table.points_m, "at least 3 different points for a closed perimeter")
            return None
    elif points[0] == points[-1] and len(points) > 2:
        draft.refuse(
            f"{entry.where} points_m point {len(points)}",
            points[-1],
            "a last point other than the first, because closed = false; for a ring",
            "closed = true",
        )
        return None
    if not _line(draft, entry.where, "points_m", points, table.closed):
        return None
    if table.closed and table.inside is not None:
        turn = "left" if signed_area_m2(points) > 0.0 else "right"
        if table.inside != turn:
            way = "anticlockwise" if turn == "left" else "clockwise"
            draft.refuse(
                f"{entry.where} inside",
                table.inside,
                f'"{turn}", because these points run {way} and the ring\'s inside is on their {turn}',
                f'inside = "{turn}"',
            )
    return SimpleNamespace(points_m=points, closed=table.closed, inside=table.inside, name=entry.name, where=entry.where)


def _gates(draft: Draft, entry: Entry, section: SimpleNamespace) -> None:
    length_m = section_length_m(section)
    spans, names = [], set()
    for number, gate in enumerate(entry.table.gates or (), start=1):
        where = f"{entry.where} gate {show_value(gate.name) if gate.name not in names else f'number {number}'}"
        if gate.name in names:
            draft.refuse(f"{where} name", gate.name, "a name that no other gate of this perimeter has")
        names.add(gate.name)
        # A millionth of a metre is forgiven: lengths of slanting sections are not round numbers.
        if gate.to_m > length_m + _TOUCH_M:
            draft.refuse(f"{where} to_m", gate.to_m, f"at most the length of this perimeter, {length_m:.10g} m")
        if gate.from_m >= gate.to_m:
            draft.refuse(f"{where} from_m", gate.from_m, f"a distance below to_m = {gate.to_m!r}")
            continue
        for other, start, end in spans:
            if gate.from_m < end - _TOUCH_M and start < gate.to_m - _TOUCH_M:
                allowed = f"a gate that does not overlap gate {show_value(other)} ({start!r} to {end!r} m)"
                draft.refuse(f"{where} from_m", gate.from_m, allowed)
        spans.append((gate.name, gate.from_m, gate.to_m))


def _segments(draft: Draft, sections: dict) -> None:
    ground = draft.single.get("site")
    step_m = ground and ground.table.segment_length_m
    if not step_m:
        return
    count = sum(segment_count(section_length_m(section), step_m) for section in sections.values())
    if count > MOST_SEGMENTS:
        draft.refuse(
            "[site] segment_length_m",
            step_m,
            f"a length that cuts the perimeter into at most {MOST_SEGMENTS:,} segments; this one makes {count:,}",
            f"segment_length_m = {float(f'{step_m * count / 500:.2g}')!r}",
        )


def _footprint(draft: Draft, entry: Entry) -> tuple[Entry, shapely.Polygon] | None:
    if not entry.has("footprint_m"):
        return None
    points = without_repeat(entry.table.footprint_m)
    if len(points) < 3:
        draft.refuse(f"{entry.where} footprint_m", entry.table.footprint_m, "at least 3 different points")
        return None
    return (entry, shapely.Polygon(points)) if _line(draft, entry.where, "footprint_m", points, closed=True) else None


def _land(draft: Draft, entry: Entry) -> None:
    points = without_repeat(entry.table.points_m or ())
    if entry.has("points_m") and len(points) < 3:
        draft.refuse(f"{entry.where} points_m", entry.table.points_m, "at least 3 different points")
    elif entry.has("points_m"):
        _line(draft, entry.where, "points_m", points, closed=True)


def _inside(draft: Draft, camera: Entry, footprints: list) -> None:
    if not camera.has("position_m", "height_m"):
        return
    for obstacle, polygon in footprints:
        height_m = obstacle.table.height_m
        # A camera on a wall's face (on the boundary) or on the roof is at a usual place.
        # A millimetre inside is still on the face: on a turned wall the last bit would decide.
        inside = polygon.buffer(-0.001).contains(shapely.Point(camera.table.position_m))
        if height_m is None or height_m <= camera.table.height_m or not inside:
            continue
        draft.refuse(
            f"{camera.where} position_m",
            camera.table.position_m,
            f"a place outside {obstacle.where}, which is {height_m!r} m tall, or on its roof "
            f"(this camera is mounted at {camera.table.height_m!r} m)",
            f"height_m = {height_m + 0.5!r}",
        )


def _through(draft: Draft, section: SimpleNamespace, footprints: list) -> None:
    """A fence inside a building: nobody can stand at it. Along a face, and a millimetre in, is at the face."""
    points = [*section.points_m, section.points_m[0]] if section.closed else section.points_m
    for obstacle, polygon in footprints:
        within = shapely.LineString(points).intersection(polygon.buffer(-0.001))
        if within.length == 0.0:
            continue
        x, y = max(shapely.get_parts(within), key=shapely.length).interpolate(0.5, normalized=True).coords[0]
        draft.refuse(
            f"{section.where} points_m",
            section.points_m,
            f"a line that does not run through the inside of {obstacle.where}, as this one does at [{x:.6g}, {y:.6g}]; "
            "along its face is allowed: end the perimeter there and go on behind it",
        )


def _rule_line(draft: Draft, rule: Entry, sections: dict) -> None:
    table = rule.table
    if not rule.has("kind", "perimeter", "points_m", "offset_m") or (table.perimeter is None) == (table.points_m is None):
        return
    if table.points_m is not None:
        points, closed = ring_points(table.points_m)
        points = tuple((float(x), float(y)) for x, y in points)
        if table.kind == "area" and not closed:
            draft.refuse(
                f"{rule.where} points_m",
                table.points_m,
                "a closed ring for an area: repeat the first point at the end",
                f"points_m = [..., {show_value(list(points[0]))}]",
            )
            return
        if closed and len(points) < 3:
            draft.refuse(f"{rule.where} points_m", table.points_m, "at least 3 different points for a ring")
            return
        if not _line(draft, rule.where, "points_m", points, closed):
            return
        to_left = table.kind == "line" or signed_area_m2(points) > 0.0
    else:
        section = sections.get(table.perimeter)
        if section is None or section.inside is None:
            return
        points, closed, to_left = section.points_m, section.closed, section.inside == "left"
        if table.kind == "area" and not closed:
            draft.refuse(
                f"{rule.where} perimeter",
                table.perimeter,
                f"a perimeter with closed = true for an area; {section.where} is open: close it, or give the area points_m",
            )
            return
    try:
        mitred_offset(points, table.offset_m, closed, to_left)
    except ValueError as error:
        draft.refuse(f"{rule.where} offset_m", table.offset_m, f"a smaller distance: {error}", "offset_m = 0.0")
