"""Lines of sight, barriers and backgrounds against a plane-geometry library.

The reference cuts the sight line with shapely's polygons and compares heights at the cuts; it shares no code with the kernel.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest
import shapely
from kernel_sites import CAMERA, FENCE, make_site

from fencecast.kernels import sight
from fencecast.kernels.pack import pack_scene
from fencecast.site import shapes as site_shapes

PLACES = 1000
# Farther than this a prism behind the target does not matter (the kernel's reach).
REACH_M = 2000.0


@pytest.fixture(autouse=True)
def fences_anywhere(monkeypatch):
    """A site file with a fence through a building is refused; lines of sight are tried in any tangle."""
    monkeypatch.setattr(site_shapes, "_through", lambda *arguments: None)


def star(random, centre, corners):
    """A simple polygon, mostly not convex: corners at rising angles and random distances."""
    angle = np.sort(random.uniform(0.0, 2.0 * math.pi, corners))
    angle += np.linspace(0.0, 0.1, corners)  # no two alike
    radius = random.uniform(1.0, 7.0, corners)
    return centre + np.stack([radius * np.cos(angle), radius * np.sin(angle)], axis=1)


def notched(centre, turn):
    """A building with a courtyard open to one side."""
    points = np.array([[-6, -4], [6, -4], [6, 4], [2, 4], [2, -2], [-2, -2], [-2, 4], [-6, 4]], dtype=float)
    c, s = math.cos(turn), math.sin(turn)
    return centre + points @ np.array([[c, s], [-s, c]])


@cache
def town():
    """Obstacles of many shapes and heights, walls, mesh and palisade; the scene and shapely's view of the same."""
    random = np.random.default_rng(41)
    shapes = []
    while len(shapes) < 9:
        centre = random.uniform(-40.0, 40.0, 2)
        points = notched(centre, random.uniform(0, 6)) if len(shapes) % 3 == 0 else star(random, centre, random.integers(3, 9))
        polygon = shapely.Polygon(points)
        if polygon.is_valid and polygon.area > 3.0:
            shapes.append((polygon, float(random.uniform(1.0, 9.0))))
    sections = [
        {"name": "mesh", "points_m": [[-45.0, -12.0], [0.0, -8.0], [12.0, 10.0], [45.0, 12.0]], "barrier": "mesh"},
        {"name": "pales", "points_m": [[-20.0, -45.0], [-14.0, 45.0]], "barrier": "palisade", "barrier_height_m": 3.0},
        {"name": "wall", "points_m": [[-45.0, 20.0], [10.0, 24.0], [30.0, 45.0]], "barrier": "wall", "barrier_height_m": 2.2},
        {"name": "open", "points_m": [[40.0, -45.0], [40.0, 45.0]]},
    ]
    sections = [{**section, "inside": "left"} for section in sections]
    site = make_site(
        perimeter=sections,
        obstacle=[
            {"name": f"o{k}", "footprint_m": np.array(p.exterior.coords)[:-1], "height_m": h} for k, (p, h) in enumerate(shapes)
        ],
        camera=[{**CAMERA, "position_m": [300.0, 300.0]}],
        rule=[{"kind": "line", "perimeter": "mesh"}],
    )
    return pack_scene(site), shapes, site


def free_point(random, shapes):
    while True:
        x, y = random.uniform(-45.0, 45.0, 2)
        if all(polygon.distance(shapely.Point(x, y)) > 1e-3 for polygon, _ in shapes):
            return float(x), float(y)


@cache
def views():
    """(camera x, y, height, target x, y): a third of the cameras stand on roofs."""
    random = np.random.default_rng(42)
    _, shapes, _ = town()
    found = []
    for k in range(PLACES):
        if k % 3 == 0:
            polygon, roof = shapes[random.integers(len(shapes))]
            spot = polygon.representative_point()
            inside = [h for p, h in shapes if p.covers(spot)]
            x, y, height = spot.x, spot.y, max(inside) + random.uniform(0.3, 4.0)
        else:
            x, y = free_point(random, shapes)
            height = random.uniform(1.5, 10.0)
        found.append((x, y, height, *free_point(random, shapes)))
    return found


def spans(polygon, line, length):
    """Where a line runs through a polygon: [(from, to)] as shares of its length."""
    common = line.intersection(polygon)
    pieces = [p for p in getattr(common, "geoms", [common]) if p.geom_type == "LineString" and p.length > 0.0]
    start = shapely.Point(line.coords[0])
    return [tuple(sorted(start.distance(shapely.Point(c)) / length for c in (p.coords[0], p.coords[-1]))) for p in pieces]


def meets(edge_points, line, length):
    """Share of the line's length at which it meets an edge, None when it does not."""
    common = line.intersection(shapely.LineString(edge_points))
    return None if common.is_empty else shapely.Point(line.coords[0]).distance(common) / length


def hidden_below(camera, target, height, shapes, walls):
    """Reference shadow height: the lowest z over the target whose sight line passes over every roof and wall."""
    line = shapely.LineString([camera, target])
    lowest = 0.0
    for polygon, roof in shapes:
        for start, end in spans(polygon, line, line.length):
            for s in (max(start, 1e-12), end):
                lowest = max(lowest, height + (roof - height) / s)
    for edge, top in walls:
        s = meets(edge, line, line.length)
        if s is not None:
            lowest = max(lowest, height + (top - height) / s)
    return lowest


def edges_of(site, kind):
    return [
        ((a, b), section)
        for section in site.perimeter
        if section.barrier == kind
        for a, b in zip(section.points_m[:-1], section.points_m[1:])
    ]


def test_shadow_height():
    """Catches a missed obstacle (its circle too small), the near face taken for the far one, walls that do not hide, a camera on
    its roof blinded by it. Source: shapely cuts. 1e-6 m: the rounding of (H - h) / s at small s."""
    scene, shapes, site = town()
    walls = [(edge, section.barrier_height_m) for edge, section in edges_of(site, "wall")]
    hidden = 0
    for x, y, height, tx, ty in views():
        wanted = hidden_below((x, y), (tx, ty), height, shapes, walls)
        found = sight.shadow_height_m(scene, x, y, height, tx, ty)
        assert found == pytest.approx(wanted, rel=1e-7, abs=1e-6), (x, y, height, tx, ty)
        hidden += wanted > 0.0
    assert 0.3 * PLACES < hidden < 0.95 * PLACES  # both cases are there


def test_shadow_height_by_hand():
    """Catches similar triangles upside down. By hand: a 3 m hut from 10 to 14 m, seen from 5 m, hides ground behind it up to
    5 - 2 * 20/14 = 2.143 m at 20 m; a 7 m one hides up to 5 + 2 * 20/10 = 9 m."""
    for roof, wanted in ((3.0, 5.0 - 2.0 * 20.0 / 14.0), (7.0, 9.0)):
        hut = {"name": "hut", "footprint_m": [[10.0, -2.0], [14.0, -2.0], [14.0, 2.0], [10.0, 2.0]], "height_m": roof}
        scene = pack_scene(make_site(obstacle=[hut]))
        assert sight.shadow_height_m(scene, 0.0, 0.0, 5.0, 20.0, 0.0) == pytest.approx(wanted, rel=1e-12)
        assert sight.shadow_height_m(scene, 0.0, 0.0, 5.0, 9.0, 0.0) == 0.0
        assert sight.shadow_height_m(scene, 0.0, 0.0, 5.0, 20.0, 9.0) == 0.0


def test_a_camera_on_a_face_looks_out():
    """Catches a camera that the last bit of its coordinates blinds: on a turned building's face, half of all cameras saw nothing
    when the face itself counted as in front of them. Limit: distance to the face going to 0 from outside."""
    random = np.random.default_rng(43)
    for _ in range(40):
        points = notched(random.uniform(-20.0, 20.0, 2), random.uniform(0.0, 6.0)).round(2)
        hut = {"name": "hut", "footprint_m": points, "height_m": 6.0}
        scene = pack_scene(make_site(obstacle=[hut], camera=[{**CAMERA, "position_m": [90.0, 90.0]}]))
        a, b = points[0], points[1]  # the long face; outside is on its right
        on_face = a + random.uniform(0.1, 0.9) * (b - a)
        outward = np.array([(b - a)[1], -(b - a)[0]]) / np.hypot(*(b - a))
        target = on_face + 12.0 * outward + random.uniform(-4.0, 4.0) * np.array([-outward[1], outward[0]])
        assert sight.shadow_height_m(scene, *on_face, 4.0, *target) == 0.0
        behind = on_face - 12.0 * outward
        assert sight.shadow_height_m(scene, *on_face, 4.0, *behind) > 4.0  # but not through the building


@pytest.mark.parametrize("roof", [2.5, 6.0])
def test_somebody_at_a_face(roof):
    """Catches a person in a doorway whom the last bit of his coordinates hides, or shows through the building; a path out of that
    door that begins behind the building. Limits, as a person comes to the face of a turned building from outside: seen from
    before it he is all there and the wall is behind him; seen from behind, what is lower than the roof is hidden."""
    random = np.random.default_rng(47)
    for _ in range(40):
        points = notched(random.uniform(-20.0, 20.0, 2), random.uniform(0.0, 6.0)).round(2)
        hut = {"name": "hut", "footprint_m": points, "height_m": roof}
        scene = pack_scene(make_site(obstacle=[hut], camera=[{**CAMERA, "position_m": [90.0, 90.0]}]))
        a, b = points[0], points[1]  # the long face; outside is on its right
        at_face = a + random.uniform(0.1, 0.9) * (b - a)
        outward = np.array([(b - a)[1], -(b - a)[0]]) / np.hypot(*(b - a))
        before = at_face + 12.0 * outward + random.uniform(-4.0, 4.0) * np.array([-outward[1], outward[0]])
        behind = at_face - 12.0 * outward
        assert sight.shadow_height_m(scene, *before, 4.0, *at_face) == 0.0
        assert sight.obstacle_behind(scene, *before, 4.0, *at_face, 1.5)
        near = sight.shadow_height_m(scene, *behind, 4.0, *(at_face + 1e-4 * outward))
        assert sight.shadow_height_m(scene, *behind, 4.0, *at_face) == pytest.approx(near, abs=1e-3)
        assert near >= roof - 1e-3
        assert not sight.obstacle_behind(scene, *behind, 4.0, *at_face, 1.5)
        assert sight.first_obstacle_m(scene, *at_face, *outward, 12.0) == 12.0
        assert sight.first_obstacle_m(scene, *at_face, *-outward, 12.0) == 0.0


@pytest.mark.parametrize("barrier", ["wall", "palisade"])
def test_a_camera_on_its_fence_looks_past_it(barrier):
    """Catches a camera on the fence line, below its top, that rounding puts behind it. Limit, as for a face."""
    random = np.random.default_rng(44)
    for _ in range(40):
        a, b = random.uniform(-20.0, 20.0, (2, 2)).round(2)
        section = {**FENCE, "points_m": [a, b], "barrier": barrier, "barrier_height_m": 3.0}
        scene = pack_scene(make_site(perimeter=[section]))
        camera = a + random.uniform(0.1, 0.9) * (b - a)
        target = camera + random.uniform(-15.0, 15.0, 2)
        factor = np.zeros(1)
        sight.fill_barrier_factors(scene, *camera, 2.0, *target, np.array([0.5]), factor)
        assert factor[0] == 1.0
        assert sight.shadow_height_m(scene, *camera, 2.0, *target) == 0.0


def test_a_wall_hides_nobody_who_stands_on_it():
    """Catches the fence that blinds the camera at the moment of the climb. Source: the model: a barrier never acts on a body that
    is on the fence line itself; and the limit just behind it."""
    section = {**FENCE, "points_m": [[-3.0, 1.0], [37.3, 12.7]], "barrier": "wall", "barrier_height_m": 2.4}
    scene = pack_scene(make_site(perimeter=[section]))
    a, b = np.array(section["points_m"])
    for share in np.linspace(0.05, 0.95, 60):
        x, y = a + share * (b - a)
        assert sight.shadow_height_m(scene, 10.0, -14.0, 4.0, x, y) == 0.0
        inward = np.array([-(b - a)[1], (b - a)[0]]) / np.hypot(*(b - a))
        assert sight.shadow_height_m(scene, 10.0, -14.0, 4.0, *((x, y) + 1e-4 * inward)) == pytest.approx(2.4, abs=1e-3)


def test_barrier_factors():
    """Catches cosine for its inverse, a factor applied above the fence's top, one of several barriers forgotten, factors on the
    wrong parts. Source: shapely cuts and the angle between sight line and fence by the arctangent. 1e-9: rounding."""
    scene, _, site = town()
    fences = edges_of(site, "mesh") + edges_of(site, "palisade")
    heights = np.array([0.2, 0.9, 1.5, 2.9])
    seen_less, seen_part = 0, 0
    for x, y, height, tx, ty in views():
        line = shapely.LineString([(x, y), (tx, ty)])
        wanted = np.ones(4)
        for edge, section in fences:
            s = meets(edge, line, line.length)
            if s is None:
                continue
            along = math.atan2(edge[1][1] - edge[0][1], edge[1][0] - edge[0][0])
            alpha = abs(math.atan2(ty - y, tx - x) - along - 0.5 * math.pi) % math.pi
            alpha = min(alpha, math.pi - alpha)
            passed = max(1.0 - (1.0 - section.barrier_open_share) / math.cos(alpha), 0.0)
            under = height + (heights - height) * s < section.barrier_height_m
            wanted[under] *= passed
        found = np.zeros(4)
        sight.fill_barrier_factors(scene, x, y, height, tx, ty, heights, found)
        assert found == pytest.approx(wanted, abs=1e-9), (x, y, height, tx, ty)
        seen_less += wanted.min() < 1.0
        seen_part += wanted.min() < wanted.max()
    assert seen_less > 0.2 * PLACES
    assert seen_part > 0.02 * PLACES


def test_barrier_factor_by_hand():
    """Catches a wrong open share. By hand: mesh 0.85 seen square passes 0.85, at 60 degrees 1 - 0.15 / 0.5 = 0.70, at 82 degrees
    nothing; palisade 0.60 square passes 0.60."""
    for barrier, degrees, wanted in (("mesh", 0.0, 0.85), ("mesh", 60.0, 0.70), ("mesh", 82.0, 0.0), ("palisade", 0.0, 0.60)):
        scene = pack_scene(make_site(perimeter=[{**FENCE, "points_m": [[-90.0, 0.0], [90.0, 0.0]], "barrier": barrier}]))
        dx, dy = 5.0 * math.sin(math.radians(degrees)), 5.0 * math.cos(math.radians(degrees))
        factor = np.zeros(1)
        sight.fill_barrier_factors(scene, -dx, -dy, 2.0, dx, dy, np.array([1.0]), factor)
        assert factor[0] == pytest.approx(wanted, abs=1e-12)


def test_obstacle_behind():
    """Catches rays that stop at the horizon, roofs forgotten, a notch that counts as building, a ray that goes on below the
    ground. Source: shapely cuts of the ray's path from the target to where it meets the ground. Cases within 1 cm of a roof's
    edge are left out: there the answer turns on rounding."""
    scene, shapes, _ = town()
    random = np.random.default_rng(45)
    counted, yes = 0, 0
    for x, y, height, tx, ty in views():
        z = height * random.uniform(0.1, 1.1)
        distance = math.hypot(tx - x, ty - y)
        end = height / (height - z) if z < height else math.inf
        end = min(end, REACH_M / distance + 1.0)
        stop = (x + (tx - x) * end, y + (ty - y) * end)
        line = shapely.LineString([(tx, ty), stop])
        if line.length < 1e-6:
            continue
        wanted, close = False, False
        for polygon, roof in shapes:
            for start, leave in spans(polygon, line, line.length):
                lowest = min(height + (z - height) * (1.0 + s * (end - 1.0)) for s in (start, leave))
                wanted = wanted or lowest <= roof
                close = close or abs(lowest - roof) < 0.01
        if close:
            continue
        found = sight.obstacle_behind(scene, x, y, height, tx, ty, z)
        assert found == wanted, (x, y, height, tx, ty, z)
        counted += 1
        yes += wanted
    assert counted > 0.95 * PLACES
    assert 0.1 * counted < yes < 0.9 * counted


def test_a_ray_that_ends_in_a_courtyard_has_ground_behind():
    """Catches footprints taken for their outer hull. By hand: from 8 m height over a U of 2 m, the ray passes over the first arm
    (6.3 m to 3.7 m high there) and meets the ground in the open court, 16 m from the camera, before the second arm."""
    u = [[4.0, -5.0], [24.0, -5.0], [24.0, 5.0], [20.0, 5.0], [20.0, -3.0], [8.0, -3.0], [8.0, 5.0], [4.0, 5.0]]
    scene = pack_scene(make_site(obstacle=[{"name": "u", "footprint_m": u, "height_m": 2.0}]))
    for ground_m, wanted in ((16.0, False), (22.0, True), (7.0, True)):
        z = 8.0 - 8.0 * 3.0 / ground_m  # height of the ray 3 m from the camera
        assert sight.obstacle_behind(scene, 0.0, 0.0, 8.0, 3.0, 0.0, z) is wanted, ground_m


def test_first_obstacle_and_first_barrier():
    """Catches paths through buildings and fences, a face behind the walker, the fence that he stands on. Source: shapely,
    distance along the ray to the nearest face or fence. 1e-6 m."""
    scene, shapes, site = town()
    random = np.random.default_rng(46)
    faces = shapely.union_all([polygon.exterior for polygon, _ in shapes])
    fences = shapely.union_all([shapely.LineString(s.points_m) for s in site.perimeter if s.barrier != "none"])
    cut = 0
    for _ in range(PLACES):
        x, y = free_point(random, shapes)
        angle, reach = random.uniform(0.0, 2.0 * math.pi), random.uniform(2.0, 40.0)
        dx, dy = math.cos(angle), math.sin(angle)
        ray = shapely.LineString([(x, y), (x + dx * reach, y + dy * reach)])
        for function, lines in ((sight.first_obstacle_m, faces), (sight.first_barrier_m, fences)):
            met = ray.intersection(lines)
            wanted = reach if met.is_empty else shapely.Point(x, y).distance(met)
            assert function(scene, x, y, dx, dy, reach) == pytest.approx(wanted, abs=1e-6)
            cut += wanted < reach
    assert cut > 0.3 * PLACES
    for edge, _ in edges_of(site, "mesh"):
        a, b = np.array(edge)
        for share in np.linspace(0.1, 0.9, 9):
            x, y = a + share * (b - a)
            assert sight.first_barrier_m(scene, x, y, 0.0, 1.0, 0.5) == 0.5
