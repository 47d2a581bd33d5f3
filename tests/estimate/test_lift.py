"""One thing lifted at a time: held against the same site with that line of its file changed, and the rule that names one."""

import numpy as np
import pytest

from fencecast.estimate.lift import Due, add_lifts, due_to, lifts_of
from fencecast.estimate.results import Results
from fencecast.estimate.simulate import advance, new_tally
from fencecast.estimate.weakest import lowest_places
from fencecast.job import run
from fencecast.kernels.crossing import SUM_PD
from fencecast.kernels.pack import pack_cells, pack_plan
from fencecast.site import parse_site
from kernels.kernel_sites import CAMERA, CORE, LINE, NIGHT, site_text

SHED = {"name": "Shed", "footprint_m": [[18.0, 1.0], [22.0, 1.0], [22.0, 3.0], [18.0, 3.0]], "height_m": 3.0}
TANK = {"name": "Tank", "footprint_m": [[5.0, -3.0], [35.0, -3.0], [35.0, -2.5], [5.0, -2.5]], "height_m": 3.0}
TWO = (CAMERA, CAMERA | {"mark": "C2", "position_m": [40.0, 2.0], "aim_m": [24.0, 2.0]})
FOG = {"fog": "radiation", "visibility_m": 60.0}
HAZY, CLEAR = NIGHT | {"visibility_m": 10.0}, NIGHT | {"visibility_m": 20000.0}
# Near what the camera can make out, so that every part of the weather counts.
WET = NIGHT | {"rain_mm_h": 80.0, "wetness": 0.8, "front_window": {"state": "drops", "share": 0.6}}
NOISY = CORE | {"netd_mk": 300.0}
SOAKED = {"weather": (WET,), "sensor": NOISY}
DRY_WINDOW = WET | {"front_window": {"state": "dry"}}
DEAF = LINE | {"cameras": ["C1"]}


def pd_of(site, plan):
    """Pd of the one cell of a site, on the crossings that a lift is asked on."""
    cells = pack_cells(site, 7)
    tally = new_tally(len(cells.weather), plan.cameras.bearing_rad.size)
    advance(plan, cells, tally, np.array([0]), 32, 1)
    return float(tally.mean(SUM_PD)[0])


class Named:
    """A place with a cause, all that `lifts_of` asks of one."""

    weather_index = 0
    section = "fence"

    def __init__(self, cause):
        self.cause = cause


@pytest.mark.parametrize(
    ("cause", "name", "with_it", "without"),
    [
        ("washed out", "fog", {"weather": (NIGHT | FOG,)}, {"weather": (NIGHT,)}),
        (
            "washed out",
            "haze",
            {"weather": (HAZY,), "sensor": NOISY},
            {"weather": (CLEAR,), "sensor": NOISY},
        ),
        (
            "washed out",
            "precipitation",
            SOAKED,
            {"weather": (WET | {"rain_mm_h": 0.0},), "sensor": NOISY},
        ),
        (
            "washed out",
            "front window",
            SOAKED,
            {"weather": (DRY_WINDOW,), "sensor": NOISY},
        ),
        (
            "washed out",
            "wet clothing",
            SOAKED,
            {"weather": (WET | {"wetness": 0.0},), "sensor": NOISY},
        ),
        ("washed out", "clutter", {"weather": (NIGHT | {"clutter_k": 0.9},)}, {"weather": (NIGHT | {"clutter_k": 0.1},)}),
        ("washed out", "threshold", {"decision": {"threshold_sigma": 40.0}}, {"decision": {"threshold_sigma": 5.0}}),
        ("washed out", "sensor noise", {"sensor": CORE | {"netd_mk": 800.0}}, {"sensor": CORE | {"netd_mk": 50.0}}),
        ("too brief", "looks wanted", {"decision": {"confirm": [8, 8]}}, {"decision": {"confirm": [1, 1]}}),
        ("too small", "gait: crawl", {}, {"intruder": {"gaits": {"crawl": 1.0}}}),
        ("not in view", "mounting errors", {"tolerance": {"bearing_deg": 15.0}}, {}),
        ("no rule there", "heard: C2", {"camera": TWO, "rule": (DEAF,)}, {"camera": TWO}),
    ],
)
def test_a_lift_is_the_site_with_that_line_changed(cause, name, with_it, without):
    """Catches: a lift that changes nothing, or more than what it is called by."""
    site, changed = parse_site(site_text(**with_it)), parse_site(site_text(**without))
    plan = pack_plan(site)
    lift = next(lift for lift in lifts_of(site, plan, Named(cause), 20.0, 0.0) if lift.name == name)
    lifted, expected = pd_of(site, lift.change(plan)), pd_of(changed, pack_plan(changed))
    assert lifted == pytest.approx(expected, abs=1e-12)
    assert abs(lifted - pd_of(site, plan)) > 0.01, "the fault must matter here, or this test sees nothing"


def test_an_obstacle_lowered_hides_nothing_and_still_stands_in_the_way():
    """Catches: paths that change with the lift; the wrong obstacle lowered."""
    site = parse_site(site_text(camera=TWO, obstacle=(TANK, SHED)))
    plan = pack_plan(site)
    lifts = {lift.name: lift.change(plan) for lift in lifts_of(site, plan, Named("not in view"), 20.0, 0.0)}
    assert {"obstacle: Shed", "all obstacles"} <= set(lifts)
    assert (lifts["all obstacles"].scene.obstacle_height_m == 0.0).all()
    assert all(np.array_equal(each.scene.obstacle_edge, plan.scene.obstacle_edge) for each in lifts.values())


def test_ground_and_clothing_are_moved_apart_on_the_farther_side():
    """Catches: a ground that is lifted through the clothing to where the contrast is no better. Clothing of a walker is 1.5
    to 5 K warmer than the air (common practice, no source)."""
    near = NIGHT | {"ground_minus_air_k": 2.0}
    site = parse_site(site_text(weather=(near,)))
    plan = pack_plan(site)
    crossover = next(x for x in lifts_of(site, plan, Named("washed out"), 20.0, 0.0) if x.name == "crossover")
    moved = float(crossover.change(plan).weather.quantity[0, 6, 1])
    assert -2.0 < moved < 2.0 or 4.5 < moved < 8.0
    assert pd_of(site, crossover.change(plan)) > pd_of(site, plan) + 0.02
    cold = parse_site(site_text(weather=(NIGHT | {"ground_minus_air_k": -4.0},)))
    assert "crossover" not in [x.name for x in lifts_of(cold, pack_plan(cold), Named("washed out"), 20.0, 0.0)]


def test_what_brings_back_most_is_named():
    """Catches: a small gain named, a gait named although the others fall short too, a name without an answer."""
    site = parse_site(
        site_text(camera=TWO, weather=(NIGHT | FOG | {"visibility_m": 25.0, "clutter_k": 0.12},), segment_length_m=4.0)
    )
    results = run(site, precision=0.1, max_crossings=64)
    wrapped = Results.of(results)
    places = [place for place in lowest_places(wrapped) if place.cause == "washed out"]
    assert places and all(due_to(wrapped, place) is not None and due_to(wrapped, place).what == "fog" for place in places)
    place = places[0]
    names = [str(name) for name in results["lift"].values]
    at = [str(code) for code in results["diagnosed"].values].index(place.code)
    missing = float(results["miss_share"].sel(cause="washed out").values[place.weather_index, place.segment])
    results["lift_gain"][at, :] = 0.0
    results["lift_gain"][at, names.index("clutter")] = 0.3 * missing  # a little less than a third
    assert due_to(wrapped, place) is None
    results["lift_gain"][at, names.index("clutter")] = 0.35 * missing + 0.05
    results["lift_pd"][at, names.index("clutter")] = 0.77
    assert due_to(wrapped, place) == Due("clutter", 0.77)
    # Gaits: 0.45 walk, 0.20 run, 0.20 crouch, 0.10 crawl, 0.05 flat crawl; the two last hold most misses.
    results["lift_gain"][at, :] = 0.0
    for gait, pd in (("walk", 0.99), ("run", 0.99), ("crouch", 0.95), ("crawl", 0.3), ("flat crawl", 0.1)):
        results["lift_pd"][at, names.index(f"gait: {gait}")] = pd
    assert due_to(wrapped, place) == Due("crawl", pytest.approx((0.65 * 0.99 + 0.2 * 0.95 + 0.05 * 0.1) / 0.9), True)
    results["lift_pd"][at, names.index("gait: walk")] = 0.7
    assert due_to(wrapped, place) is None, "walkers are missed too often there to blame the crawl"


def test_nothing_is_asked_where_nothing_is_weak():
    """Catches: empty dimensions that a results file cannot hold, a crash without places."""
    site = parse_site(site_text(camera=TWO))
    results = run(site, precision=0.5, max_crossings=16)
    results["verdict"][:] = "meets"
    asked = results.drop_vars([name for name in results.variables if "diagnosed" in str(name) or "lift" in str(name)])
    looks = add_lifts(asked, site, pack_plan(site), pack_cells(site, 7), lowest_places(Results.of(asked)), 1)
    assert looks == 0 and asked.sizes["diagnosed"] == 0
    assert due_to(Results.of(asked), lowest_places(Results.of(asked))[0]) is None
