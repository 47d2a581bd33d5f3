"""Plane geometry: closed forms, properties on random shapes, and a general geometry library as the outside source."""

import math
from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from fencecast.site import geometry as g


def section(points, closed=False, inside="left", gates=()):
    return SimpleNamespace(points_m=tuple(points), closed=closed, inside=inside, gates=gates, name="s")


L_SHAPE = section([(0.0, 0.0), (30.0, 0.0), (30.0, 40.0)])
SQUARE = section([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)], closed=True)

coordinate = st.floats(min_value=-200.0, max_value=200.0)
point = st.tuples(coordinate, coordinate)


@st.composite
def lines(draw, closed=None):
    """Lines and rings that do not meet themselves, with edges longer than 1 m."""
    closed = draw(st.booleans()) if closed is None else closed
    points = draw(st.lists(point, min_size=3 if closed else 2, max_size=6))
    ring = points + points[:1] if closed else points
    assume(all(math.dist(a, b) > 1.0 for a, b in zip(ring, ring[1:])))
    line = shapely.LinearRing(points) if closed else shapely.LineString(points)
    assume(line.is_simple and (not closed or abs(g.signed_area_m2(points)) > 1.0))
    return section(points, closed, draw(st.sampled_from(["left", "right"])))


# ------------------------------------------------------------------------------------------------ conventions


@pytest.mark.parametrize(
    ("bearing", "vector"), [(0.0, (0, 1)), (90.0, (1, 0)), (180.0, (0, -1)), (270.0, (-1, 0)), (30.0, (0.5, math.sqrt(0.75)))]
)
def test_bearings_run_clockwise_from_north(bearing, vector):
    """Would catch bearings taken anticlockwise or from east. Closed form."""
    assert g.bearing_vector(bearing) == pytest.approx(vector, abs=1e-15)
    assert float(g.bearing_of(vector)) == pytest.approx(bearing)


def test_inside_is_left_or_right_of_travel():
    """Would catch a normal that points outside. Travelling east, the left is north."""
    east = [(0.0, 0.0), (48.0, 0.0)]
    assert g.inward_normal_at(section(east), 5.0).tolist() == [0.0, 1.0]
    assert g.inward_normal_at(section(east, inside="right"), 5.0).tolist() == [0.0, -1.0]
    assert g.inward_sign(section(east)) == 1.0 and g.inward_sign(section(east, inside="right")) == -1.0


def test_the_normal_is_that_of_the_edge_the_point_is_on():
    """Would catch normals averaged round a corner, or a corner given to the edge behind."""
    normals = g.inward_normal_at(L_SHAPE, np.array([0.0, 29.999, 30.0, 70.0]))
    assert normals.tolist() == [[0, 1], [0, 1], [-1, 0], [-1, 0]]
    assert g.edge_at(L_SHAPE, np.array([-1.0, 30.0, 99.0])).tolist() == [0, 1, 1]


def test_lengths_and_points_by_hand():
    """Would catch a ring that does not close. Closed form: 30 + 40; 4 x 10."""
    assert g.section_length_m(L_SHAPE) == 70.0
    assert g.section_length_m(SQUARE) == 40.0
    assert g.corner_chainages_m(SQUARE).tolist() == [0, 10, 20, 30, 40]
    assert g.point_at(SQUARE, np.array([0.0, 5.0, 15.0, 35.0, 40.0])).tolist() == [[0, 0], [5, 0], [10, 5], [0, 5], [0, 0]]
    assert g.point_at(L_SHAPE, 50.0).tolist() == [30.0, 20.0]


def test_gates():
    gates = (SimpleNamespace(from_m=10.0, to_m=16.0), SimpleNamespace(from_m=30.0, to_m=31.0))
    at = np.array([9.9, 10.0, 16.0, 16.1, 30.5])
    assert g.in_gate(section(L_SHAPE.points_m, gates=gates), at).tolist() == [False, True, True, False, True]


# ------------------------------------------------------------------------------------------------ segments


@pytest.mark.parametrize(
    ("length", "step", "count"),
    [
        (48, 4, 12),
        (50, 4, 13),
        (54, 4, 14),
        (49.9, 4, 12),
        (1, 4, 1),
        (2, 4, 1),
        (0.1, 4, 1),
        (10, 4, 3),
        (10.5, 1, 11),
        (0.4, 1, 1),
    ],
)
def test_segment_count_rounds_halves_up(length, step, count):
    """Would catch rounding halves to even (50 / 4 = 12.5 and 10 / 4 = 2.5 would give 12 and 2), or no segment at all."""
    assert g.segment_count(length, step) == count


@settings(deadline=None)
@given(lines(), st.floats(min_value=0.5, max_value=50.0))
def test_segments_fill_the_section_without_gap_or_overlap(line, step):
    """Would catch segments that miss the end, overlap, or differ in length."""
    cut = g.cut_segments(line, step)
    length = g.section_length_m(line)
    assert cut.start_m[0] == 0.0 and cut.end_m[-1] == length and len(cut) == g.segment_count(length, step)
    assert np.array_equal(cut.start_m[1:], cut.end_m[:-1])
    assert cut.end_m - cut.start_m == pytest.approx(np.full(len(cut), length / len(cut)), rel=1e-9)
    assert np.hypot(*cut.normal.T) == pytest.approx(np.ones(len(cut)))


@settings(deadline=None)
@given(lines(), st.lists(st.floats(min_value=0.0, max_value=1.0), min_size=1, max_size=9))
def test_points_agree_with_a_geometry_library(line, shares):
    """Source: shapely, interpolation along a line. Would catch a wrong edge or a wrong distance along it."""
    at = np.array(shares) * g.section_length_m(line)
    other = shapely.get_coordinates(shapely.line_interpolate_point(shapely.LineString(g.vertices(line)), at))
    assert g.point_at(line, at) == pytest.approx(other, abs=1e-9)


@settings(deadline=None)
@given(lines(), st.floats(min_value=0.0, max_value=1.0), st.floats(min_value=0.0, max_value=360.0))
def test_turning_the_plan_turns_everything_with_it(line, share, angle):
    """Would catch an axis that is mixed up: a turned site gives turned points and normals (metamorphic)."""
    turn = np.radians(angle)
    matrix = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    turned = section([tuple(matrix @ p) for p in line.points_m], line.closed, line.inside)
    corners = g.corner_chainages_m(line)
    at = share * corners[-1]
    assume(np.min(np.abs(corners - at)) > 1e-6)
    assert g.point_at(turned, at) == pytest.approx(matrix @ g.point_at(line, at), abs=1e-9)
    assert g.inward_normal_at(turned, at) == pytest.approx(matrix @ g.inward_normal_at(line, at), abs=1e-9)


# ------------------------------------------------------------------------------------------------ offset lines


def test_offset_of_a_corner_is_mitred_with_square_ends():
    """Closed form: an inner corner moves along its bisector, open ends move square to their edges."""
    assert g.offset_line(L_SHAPE, 2.0).tolist() == [[0, 2], [28, 2], [28, 40]]
    assert g.offset_line(L_SHAPE, -2.0).tolist() == [[0, -2], [32, -2], [32, 40]]
    assert g.offset_line(section(L_SHAPE.points_m, inside="right"), 2.0).tolist() == [[0, -2], [32, -2], [32, 40]]


def test_offset_of_a_ring_mitres_all_corners():
    """Would catch a ring whose first corner is left square."""
    assert g.offset_line(SQUARE, 1.0).tolist() == [[1, 1], [9, 1], [9, 9], [1, 9], [1, 1]]
    assert g.offset_line(SQUARE, -1.0).tolist() == [[-1, -1], [11, -1], [11, 11], [-1, 11], [-1, -1]]


def test_offset_zero_is_the_line_itself():
    assert np.array_equal(g.offset_line(SQUARE, 0.0), g.vertices(SQUARE))


@settings(deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(min_value=10.0, max_value=50.0), st.floats(min_value=-40.0, max_value=40.0)), min_size=1, max_size=5
    ),
    st.floats(min_value=0.1, max_value=3.0),
    st.sampled_from([-1.0, 1.0]),
    st.sampled_from(["left", "right"]),
)
def test_offset_of_open_lines_agrees_with_a_geometry_library(steps, size, sign, inside):
    """Source: shapely, one-sided offset curve with mitred joins. Would catch a wrong side, corner or end.

    Long edges and blunt corners: elsewhere the library leaves short edges out and trims what comes near another part.
    """
    offset = sign * size
    headings = np.cumsum([turn for _, turn in steps]) * 0.9
    moves = g.bearing_vector(headings) * np.array([[length] for length, _ in steps])
    line = section([(0.0, 0.0), *map(tuple, np.cumsum(moves, axis=0))], inside=inside)
    assume(shapely.LineString(line.points_m).is_simple)
    mine = g.offset_line(line, offset)
    to_left = offset if inside == "left" else -offset
    other = shapely.LineString(line.points_m).offset_curve(to_left, join_style="mitre", mitre_limit=100.0)
    # The library leaves out corners that stray from a straight line by less than a hundredth of the offset.
    assert shapely.LineString(mine).hausdorff_distance(other) < 0.0101 * size


@settings(deadline=None)
@given(
    st.lists(point, min_size=3, max_size=9),
    st.floats(min_value=0.01, max_value=3.0),
    st.sampled_from([-1.0, 1.0]),
    st.booleans(),
)
def test_offset_of_convex_rings_agrees_with_a_geometry_library(points, size, sign, clockwise):
    """Source: shapely, mitred buffer of a polygon; of a convex one it is exact. Inside on the ring's inner side."""
    hull = shapely.MultiPoint(points).convex_hull
    assume(hull.geom_type == "Polygon" and hull.area > 1.0)
    ring = shapely.get_coordinates(shapely.orient_polygons(hull).exterior)[:-1]
    turns = np.roll(ring, -1, axis=0) - ring
    before, after = np.roll(turns, 1, axis=0), turns
    cosines = np.einsum("ij,ij->i", before, after) / np.hypot(*before.T) / np.hypot(*after.T)
    # Corners sharper than 25 degrees reach farther than a reader would draw; blunter than 0.8 degrees the library drops them.
    assume(np.all(cosines > -0.9) and np.all(cosines < 0.9999) and np.all(np.hypot(*turns.T) > 1.0))
    points = [tuple(p) for p in (ring[::-1] if clockwise else ring)]
    line = section(points, closed=True, inside="right" if clockwise else "left")
    offset = sign * size
    try:
        mine = shapely.Polygon(g.offset_line(line, offset))
    except ValueError:
        # An edge shorter than a millimetre is refused: a little farther in, the library has lost an edge too.
        farther = shapely.Polygon(points).buffer(-offset - 0.2, join_style="mitre", mitre_limit=100.0)
        assert len(shapely.get_coordinates(farther)) <= len(points)
        return
    other = shapely.Polygon(points).buffer(-offset, join_style="mitre", mitre_limit=100.0)
    # Not by areas of overlap: of two polygons that differ in their last digits the library gets those wrong.
    assert mine.area == pytest.approx(other.area, rel=1e-9)
    assert mine.exterior.hausdorff_distance(other.exterior) < 1e-6


@settings(deadline=None, max_examples=200)
@given(lines(), st.floats(min_value=-5.0, max_value=5.0))
def test_offset_edges_keep_direction_and_distance(line, offset):
    """Every edge of the offset line is parallel to its own edge, at the distance, on the right side (a property)."""
    try:
        moved = g.offset_line(line, offset)
    except ValueError:
        return
    edges, new = np.diff(g.vertices(line), axis=0), np.diff(moved, axis=0)
    unit = edges / np.hypot(*edges.T)[:, None]
    assert new[:, 0] * unit[:, 1] - new[:, 1] * unit[:, 0] == pytest.approx(np.zeros(len(new)), abs=1e-6)
    assert np.all(np.einsum("ij,ij->i", new, unit) > 0.0)
    normal = g.inward_sign(line) * np.stack([-unit[:, 1], unit[:, 0]], axis=1)
    assert np.einsum("ij,ij->i", moved[:-1] - g.vertices(line)[:-1], normal) == pytest.approx(
        np.full(len(unit), offset), abs=1e-6
    )


@pytest.mark.parametrize(
    ("line", "offset", "words"),
    [
        (SQUARE, 5.0, "vanishes"),
        (SQUARE, 6.0, "vanishes"),
        (section([(0, 0), (20, 0), (20, 20), (10, 20), (10, 3)]), 4.0, "crosses itself"),
        (section([(0, 0), (48, 0), (0, 1e-6)]), 1.0, "turns back"),
    ],
)
def test_offsets_that_collapse_are_refused(line, offset, words):
    """Would catch a rule line turned inside out."""
    with pytest.raises(ValueError, match=words):
        g.offset_line(line, offset)


# ------------------------------------------------------------------------------------------------ rules


def rule(perimeter=None, points=None, offset=0.0):
    return SimpleNamespace(perimeter=perimeter, points_m=points, offset_m=offset)


@settings(deadline=None, max_examples=100)
@given(lines())
def test_rule_lines_have_their_inward_side_on_the_left(line):
    """Would catch a line on a right-handed section that is not turned round: it would arm the wrong direction."""
    path = g.rule_line(rule("s"), [line])
    first = path[1] - path[0]
    middle = 0.5 * (path[0] + path[1])
    chainages = g.corner_chainages_m(line)
    own = g.inward_normal_at(line, 0.0 if line.inside == "left" else chainages[-1] - 1e-9)
    assert first[0] * own[1] - first[1] * own[0] > 0.0  # the normal is to the left of travel
    assert shapely.LineString(g.vertices(line)).distance(shapely.Point(middle)) < 1e-9


def test_rule_line_with_points_of_its_own():
    assert g.rule_line(rule(points=((0, 0), (10, 0)), offset=2.0), []).tolist() == [[0, 2], [10, 2]]
    ring = ((0, 0), (10, 0), (10, 10), (0, 10), (0, 0))
    assert g.rule_line(rule(points=ring, offset=1.0), []).tolist() == [[1, 1], [9, 1], [9, 9], [1, 9], [1, 1]]


def test_a_ring_by_points_is_mitred_where_it_closes():
    """Catches: the corner at which a ring starts left square, which no right angle shows as well. By hand: the circle in a
    triangle of 3, 4 and 5 m has a radius of 1 m about (1, 1), so half a metre inwards halves it about that point."""
    for start in range(3):
        corners = ((0.0, 0.0), (4.0, 0.0), (0.0, 3.0))[start:] + ((0.0, 0.0), (4.0, 0.0), (0.0, 3.0))[:start]
        line = g.rule_line(rule(points=(*corners, corners[0]), offset=0.5), [])
        expected = [[0.5 * (x + 1.0), 0.5 * (y + 1.0)] for x, y in (*corners, corners[0])]
        assert line == pytest.approx(np.array(expected), abs=1e-12)


@pytest.mark.parametrize("inside", ["left", "right"])
def test_area_polygons_are_anticlockwise_and_shrink_inwards(inside):
    """Would catch a clockwise ring whose offset grows. Closed form: (10 - 2)^2."""
    points = SQUARE.points_m if inside == "left" else SQUARE.points_m[::-1]
    on_perimeter = g.area_polygon(rule("s", offset=1.0), [section(points, closed=True, inside=inside)])
    own = g.area_polygon(rule(points=(*points, points[0]), offset=1.0), [])
    for polygon in (on_perimeter, own):
        assert polygon.shape == (4, 2) and g.signed_area_m2(polygon) == pytest.approx(64.0)


# ------------------------------------------------------------------------------------------------ shapes


@settings(deadline=None, max_examples=300)
@given(st.lists(st.tuples(*[st.integers(-4, 4)] * 2), min_size=3, max_size=7), st.booleans())
def test_crossings_agree_with_a_geometry_library(points, closed):
    """Source: shapely's is_simple. Small whole numbers make touching and overlapping edges common."""
    points = [(float(x), float(y)) for x, y in points]
    ring = points + points[:1] if closed else points
    assume(all(a != b for a, b in zip(ring, ring[1:])))
    # An open line that ends where it began is a ring to the library and touches itself here.
    assume(closed or points[0] != points[-1])
    line = shapely.LinearRing(points) if closed else shapely.LineString(points)
    found = g.first_crossing(points, closed)
    assert (found is None) == line.is_simple
    if found:
        one, two, place = found
        edges = [shapely.LineString(ring[i - 1 : i + 1]) for i in (one, two)]
        assert max(edge.distance(shapely.Point(place)) for edge in edges) < 1e-9


@settings(deadline=None)
@given(lines(closed=True))
def test_areas_agree_with_a_geometry_library(line):
    """Source: shapely. Would catch a sign: it decides which side of a ring is inside."""
    ring = shapely.LinearRing(line.points_m)
    area = shapely.Polygon(ring).area
    assert g.signed_area_m2(line.points_m) == pytest.approx(area if ring.is_ccw else -area, rel=1e-9)


def test_short_edges_are_found():
    assert g.short_edge([(0, 0), (1, 0), (1, 0.0005), (2, 0)], False) == 3
    assert g.short_edge([(0, 0), (1, 0), (0, 0.0005)], True) == 3
    assert g.short_edge([(0, 0), (1, 0), (0, 0.0005)], False) is None
    assert g.short_edge([(0, 0), (1, 0), (1, 0.002)], True) is None
