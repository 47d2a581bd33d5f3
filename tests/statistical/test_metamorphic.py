"""What must happen to Pd when the site changes in a known way.

Both designs see the same crossings, so most comparisons are made crossing by crossing and hold no chance: their tolerances are
the rounding of the kernel's float32 picture (1e-6 of a probability, 1e-5 where whole geometries are turned) or the quadrature
in z (1e-4, the model's figure). Where
crossings cannot be shared (a section under another name), up to 10 segments are compared at 4.5 standard errors (Student's t with
about 14 degrees of freedom) plus 0.001: false alarms of 5e-4 a segment on a fresh seed, and a shift of 0.02 is seen in any.

Size: 64 crossings in each cell unless said otherwise.
"""

import copy

import numpy as np
import pytest

import fencecast as fc
from fencecast.estimate.simulate import advance, new_tally
from fencecast.kernels.crossing import SUM_PD
from fencecast.kernels.pack import pack_cells, pack_plan
from statistical.trial import base, crossings, fence, one_camera

POINTS = 64
ROUNDING = 1e-6


def with_weather(**keys) -> dict:
    table = base()
    table["weather"][0].update(keys)
    return table


FOG = {"fog": "radiation", "drop_radius_um": {"dist": "lognormal", "median": 5.0, "sigma_ln": 0.35}}
WORSE = {
    "more fog": [with_weather(visibility_m=v, **FOG) for v in (2000.0, 400.0, 150.0, 80.0, 50.0, 30.0, 15.0)],
    "more haze": [with_weather(visibility_m=v) for v in (20000.0, 5000.0, 1000.0, 300.0)],
    "more rain": [with_weather(rain_mm_h=v, sky="overcast") for v in (0.5, 2.0, 10.0, 40.0, 100.0)],
    "more snow": [with_weather(snow_mm_h=v, sky="overcast") for v in (0.2, 1.0, 3.0, 8.0)],
    "more clutter": [with_weather(clutter_k=v) for v in (0.0, 0.1, 0.5, 1.0, 2.0, 4.0)],
    "more drops on the window": [with_weather(front_window={"state": "drops", "share": s}) for s in (0.0, 0.2, 0.5, 0.8)],
    "more film on the window": [with_weather(front_window={"state": "film", "film_um": x}) for x in (1.0, 5.0, 20.0, 60.0)],
}


def with_netd(netd_mk: float, **keys) -> dict:
    table = base()
    table["sensors"]["core"].update(netd_mk=netd_mk, **keys)
    return table


WORSE["more temporal noise"] = [with_netd(v) for v in (20.0, 50.0, 100.0, 300.0, 800.0, 2000.0)]
WORSE["more fixed pattern"] = [with_netd(300.0, fixed_pattern=v) for v in (0.0, 0.5, 1.0, 3.0)]


AIRBORNE = ("more fog", "more haze", "more rain", "more snow")


@pytest.mark.parametrize("change", WORSE)
def test_worse_conditions_never_raise_pd(change):
    """On a clear cold night, crossing by crossing, for both cameras together and each alone.

    Noise, clutter and window act on all parts of a body alike, so no crossing may gain. Air does not: the ground lies farther
    behind the head than behind the feet, so thicker air fades them unequally, and a body that the frame cuts can gain seen
    share. That is the model (0.003 at most in a crossing); the mean of a cell may not gain. Catches noise or extinction with a
    wrong sign or in the wrong place (clutter that grows contrast, a window that passes more than one), a draw that depends on
    another quantity's value. The change must also matter: little in rain, snow and haze, whose drops pass most of 30 m.
    """
    chain = [crossings(table, POINTS) for table in WORSE[change]]
    crossing, cell = (0.005, 1e-4) if change in AIRBORNE else (ROUNDING, ROUNDING)
    for better, worse in zip(chain[:-1], chain[1:]):
        gains = [worse.pd - better.pd] + [worse.camera(mark) - better.camera(mark) for mark in ("W", "E")]
        for gain in gains:
            assert gain.max() <= crossing
            assert gain.mean(axis=1).max() <= cell
    fall = chain[0].camera("W").mean() - chain[-1].camera("W").mean()
    assert fall > (1e-5 if change in AIRBORNE[1:] else 0.02)


def test_a_longer_distance_never_raises_pd():
    """One camera, crossings on its axis from 1.5 times the blind ground outwards; the cell keeps its key, so the same walkers.

    Cell by cell of 512 crossings: the pixel grid makes single crossings rise and fall by a hair (a body that falls between two
    pixels), in the mean by less than 0.002. Catches range left out of a formula, a lens that sees more far away.
    """
    blind_m = fc.ranges(fc.Site(**one_camera(20.0)))["cameras"][0]["blind_m"]["feet"]
    distances = np.concatenate([np.arange(1.5 * blind_m, 40.0, 2.5), np.arange(40.0, 120.0, 10.0)])
    pd = np.array([crossings(one_camera(float(d)), 512).pd.mean() for d in distances])
    assert np.max(np.diff(pd)) < 0.002
    assert pd[0] > 0.99
    assert pd[-1] < 0.10


def test_a_smaller_person_never_raises_pd():
    """Statures from 2.0 to 1.45 m, beyond the blind ground of both cameras (segments 3 to 6), cell by cell.

    Catches a body whose rectangle does not follow its stature. In single crossings the phase on the pixel grid moves Pd by up to
    0.01 either way; the mean over 512 crossings by less than 0.002.
    """
    cells = [3, 4, 5, 6]
    pd = []
    for stature_m in (2.0, 1.8, 1.7, 1.6, 1.45):
        table = base()
        table["camera"] = table["camera"][:1]
        table["intruder"] = {"stature_m": stature_m}
        pd.append(crossings(table, 512, cells=cells).pd.mean(axis=1))
    assert np.max(np.diff(pd, axis=0)) < 0.002
    assert np.min(pd[0] - pd[-1]) > 0.003


def yard() -> dict:
    """Everything with a handedness: a bent fence with a mesh, a gate, an obstacle inside, one outside, turned paths."""
    table = base()
    table["site"]["segment_length_m"] = 6.0
    points = [[0.0, 0.0], [24.0, 0.0], [36.0, 12.0]]
    mesh = {"barrier": "mesh", "gates": [{"name": "gate", "from_m": 6.0, "to_m": 9.0}]}
    table["perimeter"] = [fence("fence", points, **mesh)]
    table["obstacle"] = [
        {"name": "hut", "footprint_m": [[14.0, 4.0], [18.0, 4.0], [18.0, 7.0], [14.0, 7.0]], "height_m": 2.0},
        {"name": "bank", "footprint_m": [[28.0, -6.0], [34.0, -6.0], [34.0, -2.0]], "height_m": 1.0},
    ]
    table["intruder"] = {"approach_angle_deg": 14.0, "turn_deg": 22.0, "pause_s": 0.5}
    return table


def mirrored(table: dict) -> dict:
    """x and y swapped: bearings, inside and angles turned with them."""
    table = copy.deepcopy(table)
    for section in table["perimeter"]:
        section["points_m"] = [p[::-1] for p in section["points_m"]]
        section["inside"] = "right" if section["inside"] == "left" else "left"
    for obstacle in table["obstacle"]:
        obstacle["footprint_m"] = [p[::-1] for p in obstacle["footprint_m"]]
    for camera in table["camera"]:
        camera["position_m"] = camera["position_m"][::-1]
        camera["bearing_deg"] = (90.0 - camera["bearing_deg"]) % 360.0
    for name in ("approach_angle_deg", "turn_deg"):
        if name in table["intruder"]:
            table["intruder"][name] = -table["intruder"][name]
    return table


def turned(table: dict, angle_deg: float, shift: tuple) -> dict:
    """The whole site turned anticlockwise and moved."""
    table = copy.deepcopy(table)
    c, s = np.cos(np.deg2rad(angle_deg)), np.sin(np.deg2rad(angle_deg))

    def place(p):
        return [float(c * p[0] - s * p[1] + shift[0]), float(s * p[0] + c * p[1] + shift[1])]

    for section in table["perimeter"]:
        section["points_m"] = [place(p) for p in section["points_m"]]
    for obstacle in table["obstacle"]:
        obstacle["footprint_m"] = [place(p) for p in obstacle["footprint_m"]]
    for camera in table["camera"]:
        camera["position_m"] = place(camera["position_m"])
        camera["bearing_deg"] = (camera["bearing_deg"] - angle_deg) % 360.0
    return table


def same_everywhere(one, other, tolerance):
    """All of a crossing but the number of looks: probabilities, depth [m], delay [s]."""
    probabilities = np.delete(np.arange(one.rows.shape[2]), 6)
    return np.max(np.abs(one.rows[:, :, probabilities] - other.rows[:, :, probabilities])) < tolerance


def test_a_mirrored_site_gives_the_same_answer():
    """Swapping x and y, crossing by crossing: the picture is mirrored, nothing else. Catches a handedness anywhere: image
    columns, the side of the fence, signs of angles, the side on which a crawler's head leads."""
    table = yard()
    assert same_everywhere(crossings(table, POINTS), crossings(mirrored(table), POINTS), 1e-5)


def test_a_mirrored_site_with_drawn_angles_gives_the_same_averages():
    """With approach and turn drawn from symmetric distributions the crossings differ but their averages do not: 7 segments, 4.5
    standard errors plus 0.001. Catches an approach angle whose distribution leans to one side."""
    table = yard()
    table["intruder"] = {"turn_deg": {"dist": "uniform", "low": -20.0, "high": 20.0}}
    twin = mirrored({**table, "intruder": {}}) | {"intruder": table["intruder"]}
    assert_same_means(means(table), means(twin), np.arange(7), np.arange(7))


@pytest.mark.parametrize(("angle_deg", "shift"), [(90.0, (0.0, 0.0)), (37.0, (-400.0, 250.0)), (0.0, (1000.33337, -3000.7))])
def test_a_turned_or_moved_site_gives_the_same_answer(angle_deg, shift):
    """Catches grid north mixed up with a fence's own direction, and geometry that loses digits far from the origin."""
    table = yard()
    assert same_everywhere(crossings(table, POINTS), crossings(turned(table, angle_deg, shift), POINTS), 1e-5)


def means(table: dict, points: int = 512):
    """(Pd (cells,), its standard error) of a site."""
    site = fc.Site(**copy.deepcopy(table))
    strata = pack_cells(site, site.seed)
    tally = new_tally(len(strata.weather), len(site.camera))
    advance(pack_plan(site), strata, tally, np.arange(len(strata.weather)), points, threads=1)
    return tally.mean(SUM_PD), tally.se()


def assert_same_means(one, other, cells, other_cells):
    difference = one[0][cells] - other[0][other_cells]
    error = np.hypot(one[1][cells], other[1][other_cells])
    assert np.all(np.abs(difference) < 4.5 * error + 0.001), difference
    assert np.all(error < 0.004)  # else a shift of 0.02 would not show


def test_splitting_a_section_gives_the_same_pd():
    """40 m as one section, and as two of 20 m: the first keeps its name and crossings (to rounding), the second has others.

    Catches a rule line that ends at a joint, chainage that starts anew in the wrong place, sections that stop each other's
    paths. Without a barrier and with one (a path must not be cut by the fence it crosses, nor by its continuation).
    """
    for barrier in ("none", "mesh"):
        whole, split = base(), base()
        whole["perimeter"][0]["barrier"] = barrier
        split["perimeter"] = [
            fence("fence", [[0.0, 0.0], [20.0, 0.0]], barrier=barrier),
            fence("rest", [[20.0, 0.0], [40.0, 0.0]], barrier=barrier),
        ]
        split["rule"].append({"kind": "line", "perimeter": "rest", "offset_m": 1.0})
        kept = np.arange(5)
        one, other = crossings(whole, POINTS, cells=kept), crossings(split, POINTS, cells=kept)
        assert same_everywhere(one, other, ROUNDING)
        assert_same_means(means(whole), means(split), np.arange(10), np.arange(10))


@pytest.mark.parametrize("correlation", [0.0, 0.5, 0.9])
def test_a_second_camera_never_lowers_pd(correlation):
    """Exactly, in every crossing; and the first camera's own Pd is the same to the last bit. Catches cameras that shadow or
    overwrite each other, and a combination that is not one minus a product."""
    for extra in ({"position_m": [20.0, 6.0], "bearing_deg": 180.0}, {"position_m": [10.0, 30.0], "bearing_deg": 0.0}):
        one, two = base(), base()
        for table in (one, two):
            table["decision"] = {"encounter_correlation": correlation}
        two["camera"].append(two["camera"][0] | extra | {"mark": "X"})
        alone, both = crossings(one, POINTS), crossings(two, POINTS)
        for row in ("pd", "in_view", "resolved", "confirmed"):
            assert np.min(getattr(both, row) - getattr(alone, row)) >= -1e-12, row
        for mark in ("W", "E"):
            assert np.array_equal(both.camera(mark), alone.camera(mark))


def test_pd_lies_between_the_best_camera_and_independent_cameras():
    """In every crossing. Catches cameras combined on averages, or correlation with a wrong sign."""
    for correlation in (0.0, 0.3, 0.7, 0.9):
        table = base()
        table["decision"] = {"encounter_correlation": correlation}
        seen = crossings(table, POINTS)
        w, e = seen.camera("W"), seen.camera("E")
        assert np.min(seen.pd - np.maximum(w, e)) >= -1e-4
        assert np.max(seen.pd - (1.0 - (1.0 - w) * (1.0 - e))) <= 1e-4
        if correlation == 0.0:
            assert seen.pd == pytest.approx(1.0 - (1.0 - w) * (1.0 - e), abs=1e-6)


def test_more_correlation_lowers_the_joint_pd_only():
    """Crossing by crossing, within the quadrature; `pd_camera` does not depend on it, to the last bit.

    Catches a marginal taken from the conditional, and z shared by nobody.
    """
    chain = []
    for correlation in (0.0, 0.2, 0.5, 0.7, 0.75, 0.9):
        table = base()
        table["decision"] = {"encounter_correlation": correlation}
        chain.append(crossings(table, POINTS))
    for less, more in zip(chain[:-1], chain[1:]):
        assert np.max(more.pd - less.pd) <= 1e-4
        for mark in ("W", "E"):
            assert np.array_equal(less.camera(mark), more.camera(mark))
    assert np.max(chain[0].pd - chain[-1].pd) > 0.02


def test_a_rule_with_fewer_cameras_never_raises_pd():
    """Exactly, and a camera that is not listened to has no Pd. Catches a rule that hears every camera."""
    everyone, fewer = base(), base()
    fewer["rule"][0]["cameras"] = ["W"]
    all_of_them, one = crossings(everyone, POINTS), crossings(fewer, POINTS)
    assert np.min(all_of_them.pd - one.pd) >= -1e-12
    assert np.max(all_of_them.pd - one.pd) > 0.2
    assert np.array_equal(one.camera("W"), all_of_them.camera("W"))
    assert np.all(one.camera("E") == 0.0)


def test_a_second_rule_never_lowers_pd():
    """The armed looks are the union over rules. Catches a rule that replaces another. 1e-7 as below."""
    one, two = base(), base()
    two["rule"].append({"kind": "line", "perimeter": "fence", "offset_m": 4.0})
    assert np.min(crossings(two, POINTS).pd - crossings(one, POINTS).pd) >= -1e-7


@pytest.mark.parametrize("key", ["time_window_s", "m of n"])
def test_an_easier_confirmation_never_lowers_pd(key):
    """A wider window, or fewer hits asked of as many looks. Catches a window on one side only, m and n mixed up.

    1e-7, because the kernel takes chances beyond 1e-9 and 1 - 1e-12 for none and certain.
    """
    chain = []
    for value in (0.2, 0.5, 1.0, 1.5, 3.0) if key == "time_window_s" else ([5, 5], [4, 5], [3, 5], [2, 5], [1, 5]):
        table = base()
        if key == "time_window_s":
            table["rule"][0]["time_window_s"] = value
        else:
            table["decision"] = {"confirm": value}
        chain.append(crossings(table, POINTS))
    for harder, easier in zip(chain[:-1], chain[1:]):
        assert np.min(easier.pd - harder.pd) >= -1e-7
    assert chain[-1].pd.mean() - chain[0].pd.mean() > 0.003


def test_equal_cameras_with_other_marks_differ_only_in_their_noise():
    """The mark keys the draws of NETD and mounting errors and nothing else: without them the same to the last bit, with them not
    the same but as good (7 % of NETD in a mean over 640 crossings moves Pd by less than 0.002). Catches draws keyed by the
    camera's place in the file, and a mark that reaches the crossing's own draws."""

    def renamed(spread: float, mark: str):
        table = with_weather(visibility_m=60.0, **FOG)
        table["sensors"]["core"]["netd_spread"] = spread
        table["camera"] = [table["camera"][0] | {"mark": mark}]
        return crossings(table, POINTS)

    assert np.array_equal(renamed(0.0, "W").rows, renamed(0.0, "other").rows)
    one, other = renamed(0.3, "W"), renamed(0.3, "other")
    assert np.mean(one.pd != other.pd) > 0.2
    assert abs(one.pd.mean() - other.pd.mean()) < 0.01
