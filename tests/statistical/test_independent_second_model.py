"""The parts of the independent check that the second model brought, each against something simpler. Nothing of the product."""

import numpy as np
import pytest
from independent.chain import first_confirmed
from independent.corners import inner_angle_deg
from independent.estimate import one_crossing
from independent.quantities import Varying
from independent.scene import Scene
from scipy import stats
from shapely import affinity
from shapely.geometry import LineString

from independent import read_site
from statistical import second_model
from statistical.trial import DATA

SITES = DATA / "sites"


@pytest.mark.parametrize("name", ["hook-yard", "notch-dock", "walled-yard"])
def test_possible_angles_by_rays(name):
    """Catches a wrong depth, side or joint. Reference: shapely, a leg every half degree down to the depth, met or not; angles
    within a quarter of a degree of a limit are left out. Joints by hand."""
    site, rng, blocked = read_site(SITES / f"{name}.toml"), np.random.default_rng(5), 0
    joined = {"hook-yard": {"base", "slope", "east side", "spur"}, "notch-dock": {"dock", "jetty"}, "walled-yard": {"yard"}}[name]
    for section in site.sections:
        others = [other for other in site.sections if other.name in joined and other is not section and section.name in joined]
        for edge in range(len(section.length)):
            corners = site.corners[section.name, edge]
            lines = [LineString(section.points[k : k + 2]) for k in range(len(section.length)) if k != edge]
            lines += [LineString(other.points) for other in others]
            for along in rng.uniform(0.0, section.length[edge], 6):
                point = section.points[edge] + along * section.unit[edge]
                possible = corners.possible(point)
                for angle in np.arange(-85.0, 85.1, 0.5):
                    if any(abs(angle - limit) < 0.25 for interval in possible for limit in interval):
                        continue
                    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
                    n = section.normal[edge]
                    heading = np.array([c * n[0] - s * n[1], s * n[0] + c * n[1]])
                    leg = LineString([point + 1e-7 * heading, point + corners.depth_m / c * heading])
                    free = not any(leg.crosses(line) or leg.touches(line) for line in lines)
                    assert free == any(low < angle < high for low, high in possible), (section.name, edge, along, angle)
                    blocked += not free
    assert blocked > 100


def test_a_straight_convex_corner_by_its_formula():
    """Catches a limit on the wrong side. Source: the model's tan a = s / D, D = 3 m, 1 m from a corner to the right."""
    line = {"name": "line", "points_m": [[0.0, 0.0], [20.0, 0.0], [20.0, 20.0]], "inside": "left"}
    site = read_site(second_model.site([line], [second_model.camera("C", [1.0, 1.0], 4.0, 90.0, 12.0)], [RULE]))
    ((low, high),) = site.corners["line", 0].possible(np.array([19.0, 0.0]))
    assert (low, high) == pytest.approx((-np.degrees(np.arctan(1.0 / 3.0)), 90.0), abs=1e-6)
    draw = Varying({"dist": "uniform", "low": -30.0, "high": 30.0})
    for share in (0.0, 0.3, 1.0):
        found = inner_angle_deg(draw, share, 0.0, site.corners["line", 0], np.array([19.0, 0.0]))
        assert found == pytest.approx(low + share * (30.0 - low))
        # A turn of the inner leg moves the limit of the drawn angle, not that of the leg.
        found = inner_angle_deg(draw, share, -10.0, site.corners["line", 0], np.array([19.0, 0.0]))
        assert found == pytest.approx(low + share * (20.0 - low))
    assert inner_angle_deg(draw, 0.123, 4.0, site.corners["line", 0], np.array([2.0, 0.0])) == draw.at(0.123) + 4.0


RULE = {"kind": "line", "perimeter": "line", "offset_m": 0.5}


def test_no_angle_left_takes_the_bisector_or_the_next_interval():
    """Catches the turn added to the bisector, the wrong half, an interval taken without a share of the draw. By hand: a corner of
    60 degrees at the origin, the point 1 m from it, the other edge 20 m long, so that every angle left of it is barred."""
    line = {"name": "line", "points_m": [[10.0, 17.32050808], [0.0, 0.0], [20.0, 0.0]], "inside": "left"}
    site = read_site(second_model.site([line], [second_model.camera("C", [1.0, 1.0], 4.0, 90.0, 12.0)], [RULE]))
    corners, point = site.corners["line", 1], np.array([1.0, 0.0])
    ((low, high),) = corners.possible(point)
    # The other edge is 3 m deep at x = 3 / tan 60: the leg to there leans 0.732 m to the right over 3 m.
    assert (low, high) == pytest.approx((-90.0, -np.degrees(np.arctan((3.0 / np.tan(np.radians(60.0)) - 1.0) / 3.0))), abs=1e-6)
    assert inner_angle_deg(Varying(0.0), 0.5, 7.0, corners, point) == pytest.approx(-60.0)
    steps = Varying({"dist": "choice", "values": [-40.0, 0.0, 20.0], "weights": [0.25, 0.5, 0.25]})
    assert inner_angle_deg(steps, 0.9, 0.0, corners, point) == -40.0


def test_turning_the_site_turns_nothing():
    """Catches angles taken from an axis of the site instead of the edge. Same draws; 1e-6 for rounding in the geometry."""
    tables = second_model.short_rule() | {"weather": [second_model.CLEAR]}
    turned = second_model.short_rule() | {"weather": [second_model.CLEAR]}
    degrees = 37.0

    def spin(points):
        moved = affinity.rotate(LineString([*points, [0.0, 0.0]]), degrees, origin=(0.0, 0.0))
        return [list(item) for item in moved.coords][:-1]

    for name, key in (("perimeter", "points_m"), ("rule", "points_m"), ("obstacle", "footprint_m")):
        turned[name] = [table | {key: spin(table[key])} for table in turned[name]]
    turned["camera"] = [
        table | {"position_m": spin([table["position_m"]])[0], "bearing_deg": table["bearing_deg"] - degrees}
        for table in turned["camera"]
    ]
    outcomes = []
    for written in (tables, turned):
        site, rng = read_site(written), np.random.default_rng(6)
        scene = Scene(site)
        for segment in site.segments[::2]:
            outcomes += [
                one_crossing(site, scene, site.weather["clear night"], segment, lambda *name, rng=rng: rng.random())["pd"]
                for _ in range(3)
            ]
    first, second = np.split(np.array(outcomes), 2)
    assert first == pytest.approx(second, abs=1e-6)
    assert 0.0 < first.mean() < 1.0


def test_legs_along_a_face_and_through_a_corner_run_on():
    """Catches a leg that stops where it only touches. By hand: a hut 2 m deep, 3 m inside."""
    line = {"name": "line", "points_m": [[0.0, 0.0], [20.0, 0.0]], "inside": "left"}
    hut = {"name": "hut", "footprint_m": [[6.0, 3.0], [9.0, 3.0], [9.0, 5.0], [6.0, 5.0]], "height_m": 3.0}
    camera = second_model.camera("C", [1.0, 1.0], 4.0, 90.0, 12.0)
    scene = Scene(read_site(second_model.site([line], [camera], [RULE], obstacle=[hut])))
    north = np.array([0.0, 1.0])
    for x, run in ((6.0, np.inf), (9.0, np.inf), (5.999, np.inf), (6.001, 3.0), (7.0, 3.0)):
        assert scene.free_run_m(np.array([x, 0.0]), north) == pytest.approx(run), x
    through_corner = np.array([1.0, 1.0]) / np.sqrt(2.0)  # by (6, 5) and on over the roofless side
    assert scene.free_run_m(np.array([1.0, 0.0]), through_corner) == np.inf
    assert scene.free_run_m(np.array([7.0, 3.0]), north) == 0.0  # from the face into the hut
    assert scene.free_run_m(np.array([7.0, 3.0]), -north) == np.inf


@pytest.mark.parametrize(
    ("written", "reference"),
    [
        ({"dist": "normal", "mean": 2.0, "sd": 1.0, "low": 1.5, "high": 4.0}, stats.truncnorm(-0.5, 2.0, 2.0, 1.0)),
        ({"dist": "lognormal", "median": 70.0, "sigma_ln": 0.3}, stats.lognorm(0.3, scale=70.0)),
        ({"dist": "triangular", "low": 1.0, "mode": 2.0, "high": 5.0}, stats.triang(0.25, 1.0, 4.0)),
        ({"dist": "uniform", "low": 1.0, "high": 4.0}, stats.uniform(1.0, 3.0)),
        ({"median": 2.0, "sigma_ln": 0.15}, stats.lognorm(0.15, scale=2.0)),
    ],
)
def test_shares_below_a_value(written, reference):
    """Catches a distribution function that is not the draw's inverse. Reference: scipy.stats."""
    for value in (-1.0, 1.2, 1.9, 2.4, 4.5, 60.0, 200.0):
        assert Varying(written).upto(value) == pytest.approx(reference.cdf(value), abs=1e-12)


def test_shares_below_a_step():
    """Catches a step counted on the wrong side of its value. By hand."""
    steps = Varying({"dist": "choice", "values": [15.0, -35.0, 0.0], "weights": [1.0, 2.0, 1.0]})
    assert [steps.upto(-35.0), steps.below(-35.0), steps.upto(0.0), steps.below(0.0), steps.below(15.1)] == [
        0.5,
        0.0,
        0.75,
        0.5,
        1.0,
    ]
    assert [Varying(3.0).upto(3.0), Varying(3.0).below(3.0)] == [1.0, 0.0]


def test_posts_link_by_their_nearest():
    """Catches complete instead of single linkage, and 2.0 m left out. By hand."""
    line = {"name": "line", "points_m": [[0.0, 0.0], [20.0, 0.0]], "inside": "left"}
    places = {"a": 0.0, "b": 4.0, "c": 2.0, "d": 6.1, "e": 12.0, "f": 13.9}
    cameras = [second_model.camera(mark, [x, 1.0], 4.0, 90.0, 12.0) for mark, x in places.items()]
    posts = read_site(second_model.site([line], cameras, [RULE])).posts
    assert sorted(sorted(post) for post in posts) == [["a", "b", "c"], ["d"], ["e", "f"]]


def test_a_camera_set_twice_adds_nothing_and_an_earlier_one_decides_the_time():
    """Catches the product over cameras within a post, in Pd and in the times of the alarm. By hand, sure hits."""
    tables = second_model.two_eyes(0.0)
    tables["camera"][1] |= {"bearing_deg": tables["camera"][0]["bearing_deg"]}
    tables["sensors"] = {"core": second_model.CORE | {"netd_spread": 0.0}}
    once = tables | {"camera": tables["camera"][:1]}
    for seed in range(4):
        found = []
        for written in (tables, once):
            site = read_site(written)
            rng = np.random.default_rng(seed)
            names = [
                *site.weather["clear night"]["draws"],
                *site.intruder["draws"],
                "clo",
                "climb_s",
                "speed_m_s",
                "gait",
                "position",
            ]
            drawn = dict(zip([*names, "direction", "look_phase"], rng.random(len(names) + 2)))
            share = lambda name, mark=None, drawn=drawn: 0.5 if mark else drawn[name]  # noqa: E731
            found.append(one_crossing(site, Scene(site), site.weather["clear night"], site.segments[0], share))
        for key in ("pd", "V", "R", "B", "depth", "delay", "A", "V_all"):
            assert found[0][key] == pytest.approx(found[1][key], abs=1e-12), key


def test_first_confirmed_is_a_distribution():
    """Catches survival that is not monotone, which the minimum over a post's cameras relies on. Property of any chain."""
    hit = np.random.default_rng(9).random((6, 30)) ** 3
    first = first_confirmed(hit, np.arange(30) > 8, (3, 5))
    assert np.all(first >= 0.0)
    assert np.all(np.cumsum(first, axis=1) < 1.0 + 1e-12)
