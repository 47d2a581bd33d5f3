"""Walks as crossings: the steps give the product's own Pd at any N50 and correlation, and nothing that a card fixes is drawn."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import numpy as np
import pytest

from fencecast.errors import UsageError
from fencecast.kernels.pack import pack_plan
from fencecast.kernels.probe import probe_crossings, scrambled_rows
from fencecast.kernels.types import Cells
from fencecast.kernels.work import look_capacity
from fencecast.prove.walks.asfinished import pack_walks
from fencecast.prove.walks.kinds import Crossed, simulate_walks, walk_lines
from fencecast.prove.walks.patterns import camera_pd, pattern_table, site_pd
from fencecast.sampling.sobol import combine_keys, sobol_table
from fencecast.sampling.variables import SITE_VARIABLES, variable_keys
from fencecast.site import parse_site
from kernels.kernel_sites import CAMERA, CORE, FENCE, LINE, NIGHT, make_site, site_text

OTHER_END = {**CAMERA, "mark": "C2", "position_m": [40.0, 2.0], "aim_m": [24.0, 2.0]}
PAIR = [CAMERA, OTHER_END]
FOG = {**NIGHT, "name": "fog", "fog": "radiation", "visibility_m": 20.0, "relative_humidity": 0.99, "ground_minus_air_k": 0.3}
RAIN = {
    **NIGHT, "name": "rain", "rain_mm_h": {"dist": "uniform", "low": 5.0, "high": 30.0}, "air_temperature_c": 10.0,
    "ground_minus_air_k": -0.2, "clutter_k": 1.0,
}  # fmt: skip
AREA = {"kind": "area", "points_m": [[0.0, 0.0], [40.0, 0.0], [40.0, 6.0], [0.0, 6.0], [0.0, 0.0]], "dwell_s": 1.0}
MESH = {**FENCE, "barrier": "mesh"}
SITES = {
    "clear": ({"camera": PAIR, "perimeter": [MESH]}, "night"),
    "fog": ({"camera": PAIR, "weather": [NIGHT, FOG]}, "fog"),
    "rain": ({"camera": PAIR, "weather": [RAIN]}, "rain"),
    "area rule": ({"camera": PAIR, "rule": [AREA], "weather": [FOG]}, "fog"),
    "2 of 3": ({"camera": PAIR, "weather": [FOG], "decision": {"confirm": [2, 3]}}, "fog"),
    "48 looks": (
        {"camera": PAIR, "weather": [FOG], "rule": [{**LINE, "offset_m": 2.0, "time_window_s": 4.0}]},
        "fog",
    ),
    "one post": ({"camera": [CAMERA, {**OTHER_END, "position_m": [0.0, 3.5], "aim_m": [20.0, 1.0]}]}, "night"),
    "size gate": ({"camera": PAIR, "weather": [RAIN], "decision": {"size_gate": [0.5, 1.3], "size_spread": 0.3}}, "rain"),
}  # fmt: skip
WALKS = [Crossed("fence", 9.0, "walk"), Crossed("fence", 20.0, "crouch"), Crossed("fence", 33.0, "crawl")]


def at(tables, cycles_50, correlation):
    """The site with another N50 and correlation."""
    decision = {**tables.get("decision", {}), "cycles_50": cycles_50, "encounter_correlation": correlation}
    return make_site(**{**tables, "decision": decision})


@pytest.mark.parametrize("name", SITES)
def test_steps_hold_the_products_pd(name):
    """Catches steps that know the file's N50, a camera or a post left out, an acceptance forgotten, looks of another window.
    Source: the product's own integration of the same crossings in files of three other N50 and correlations, within 1e-6."""
    tables, weather = SITES[name]
    steps = simulate_walks(at(tables, 2.0, 0.0), WALKS, weather, crossings=12, threads=1)
    assert 0.02 < steps.pd.mean() < 0.9999
    assert (steps.gain[..., 1] > 0.0).any() == (weather != "night")  # more than one step where looks may fail
    for n50, r in ((2.0, 0.0), (1.3, 0.3), (3.4, 0.5)):
        other = simulate_walks(at(tables, n50, r), WALKS, weather, crossings=12, threads=1)
        assert np.array_equal(other.cycles, steps.cycles) and np.array_equal(other.gain, steps.gain)
        for walk in range(3):
            assert site_pd(steps, walk, n50, r)[0, 0] == pytest.approx(other.pd[walk], abs=1e-6)
            table = pattern_table(steps, walk, [0, 1], n50, r)
            assert table.sum() == pytest.approx(1.0, abs=1e-12) and 1.0 - table[0] == pytest.approx(other.pd[walk], abs=1e-6)
            assert table[1] + table[3] == pytest.approx(camera_pd(steps, walk, n50, r)[0, 0], abs=1e-7)


def test_stays_of_many_looks():
    """Catches steps that lose alarms in a stay of hundreds of looks. Source: the product's integration; both join looks, each in
    its own way, and the model's pages allow each 1e-3."""
    tables = {"camera": PAIR, "rule": [AREA], "weather": [FOG], "decision": {"looks_per_s": 20.0}}
    walks = [Crossed("fence", 20.0, "flat_crawl"), Crossed("fence", 12.0, "crouch")]
    steps = simulate_walks(at(tables, 1.0, 0.0), walks, "fog", crossings=3, threads=1)
    assert steps.looks / 3 > 100
    for n50, r in ((1.0, 0.0), (2.5, 0.5)):
        pd = simulate_walks(at(tables, n50, r), walks, "fog", crossings=3, threads=1).pd
        assert [site_pd(steps, walk, n50, r)[0, 0] for walk in range(2)] == pytest.approx(pd, abs=2e-3)


def test_a_walk_is_a_crossing_of_the_product():
    """Catches a walk that is drawn in its own way: another place, angle, body, speed, direction. Source: `probe_crossings` of a
    site whose intruder walks like that by its file: the same points, scrambled alike."""
    intruder = {
        "gaits": {"crouch": 1.0}, "approach_angle_deg": {"dist": "uniform", "low": -5.0, "high": 5.0}, "turn_deg": 0.0,
        "pause_s": 0.0, "climb_s": 0.0, "stature_m": 1.82, "clo": 1.1,
    }  # fmt: skip
    tables = {"camera": PAIR, "perimeter": [MESH], "sensor": {**CORE, "netd_spread": 0.0}, "weather": [FOG]}
    walk = Crossed("fence", 21.0, "crouch", "in", 1.82, 1.1)
    site = make_site(**tables)
    steps = simulate_walks(site, [walk], "fog", crossings=16, from_fence=False, threads=1)
    _, cells, _ = pack_walks(site, [walk], "fog", 1, False, None)
    key = np.uint64(combine_keys(cells.key[0], np.uint64(0)))
    keys = np.array([combine_keys(key, each) for each in variable_keys()], dtype=np.uint64)
    units, points = np.zeros((16, len(SITE_VARIABLES))), np.arange(16)
    scrambled_rows(sobol_table(16, len(SITE_VARIABLES)), points, keys, units)
    place = np.array([20.7]), np.array([21.3])
    cell = Cells(np.zeros(1, np.int64), np.zeros(1, np.int64), *place, cells.key)
    plan, pd = pack_plan(make_site(**tables, intruder=intruder)), np.zeros(16)
    looks = probe_crossings(plan, cell, 0, units, np.full((16, 3), key), points, look_capacity(plan), pd)
    assert 0.05 < pd.mean() < 0.99 and looks == steps.looks
    assert steps.pd[0] == pytest.approx(pd.mean(), abs=1e-9)


def test_what_a_finished_site_has_fixed_is_not_drawn():
    """Catches mounting errors, NETD or the decision drawn anew from walk to walk. Reference: equal bits with and without
    spreads."""
    drawn = {
        "sensor": {**CORE, "netd_spread": 0.3},
        "tolerance": {"bearing_deg": 3.0, "depression_deg": 2.0, "height_m": 0.2},
        "decision": {
            "cycles_50": {"dist": "lognormal", "median": 2.0, "sigma_ln": 0.4},
            "threshold_sigma": {"dist": "lognormal", "median": 5.0, "sigma_ln": 0.3},
        },
    }
    fixed = {"sensor": {**CORE, "netd_spread": 0.0}, "tolerance": {"bearing_deg": 0.0, "depression_deg": 0.0, "height_m": 0.0}}
    tables = {"camera": PAIR, "weather": [RAIN]}
    a, b = (simulate_walks(make_site(**tables, **more), WALKS, "rain", crossings=8, threads=1) for more in (drawn, fixed))
    assert np.array_equal(a.cycles, b.cycles) and np.array_equal(a.gain, b.gain) and (a.gain > 0.0).any()
    assert a.pd == pytest.approx(b.pd, abs=1e-6)


def test_from_the_fence_nothing_is_seen_before():
    """Catches a leg outside that is walked all the same, a line on the fence that is not crossed, an area that a walk from its
    edge leaves at once. By hand: a camera that looks outwards only; an area from the fence on with a dwell of 1 s."""
    outwards = {**CAMERA, "position_m": [20.0, 1.0], "aim_m": [20.0, -8.0], "height_m": 3.0}
    site = make_site(camera=[outwards], rule=[{"kind": "line", "perimeter": "fence", "direction": "both", "time_window_s": 3.0}])
    walks = [Crossed("fence", 20.0, "walk", "in"), Crossed("fence", 20.0, "walk", "out")]
    near, far = (simulate_walks(site, walks, "night", crossings=8, from_fence=each, threads=1) for each in (True, False))
    assert (near.in_view == 0.0).all() and (near.pd == 0.0).all() and (near.delay == 0.0).all()
    assert (far.in_view == 1.0).all() and (far.pd > 0.9).all()
    deep = {**AREA, "points_m": [[0.0, 0.0], [40.0, 0.0], [40.0, 14.0], [0.0, 14.0], [0.0, 0.0]]}  # left at the end of the path
    stay = simulate_walks(make_site(camera=PAIR, rule=[deep]), WALKS[:2], "night", crossings=8, threads=1)
    assert (stay.pd > 0.8).all() and (stay.delay[:, :3] == 0.0).all()
    assert stay.delay.sum(axis=1) == pytest.approx(1.0, abs=1e-9)
    assert (stay.delay[0, 3:6].sum() > 0.9) and stay.delay_s[2] == 1.0


def test_a_line_alarms_at_the_line():
    """Catches delays counted from the start. By hand: with looks before the line nearly every alarm is there when it is crossed;
    walked outwards a line that is armed inwards is silent."""
    rule = [{"kind": "line", "perimeter": "fence", "offset_m": 3.0}]
    site = make_site(camera=PAIR, rule=rule)
    walks = [WALKS[0], Crossed("fence", 9.0, "walk", "out")]
    steps = simulate_walks(site, walks, "night", crossings=16, threads=1)
    assert steps.delay[0, 0] > 0.95 and steps.pd[0] > 0.9
    assert steps.pd[1] == 0.0 and (steps.gain[1] == 0.0).all() and (steps.delay[1] == 0.0).all()


def test_clear_air_has_one_step_that_goes_with_stature():
    """Catches a body that is not the walker's. Reference: N goes with the root of height times breadth, both in statures (blur
    and perspective aside); in clear air a camera has one step."""
    walks = [Crossed("fence", 20.0, "walk", "in", stature) for stature in (1.6, 1.9)]
    steps = simulate_walks(make_site(camera=PAIR), walks, "night", crossings=16, threads=1)
    assert ((steps.gain > 0.0).sum(axis=3) == 1).all() and steps.gain[..., 0] == pytest.approx(1.0, abs=1e-9)
    ratio = np.log(steps.cycles[1, ..., 0]).mean() - np.log(steps.cycles[0, ..., 0]).mean()
    assert ratio == pytest.approx(np.log(1.9 / 1.6), rel=0.06)


def test_noted_weather_takes_the_place_of_the_class():
    """Catches a condition in another unit or on another quantity, ground held against the class's air. Reference: a class that
    says the same in its file."""
    loose = {
        **NIGHT, "air_temperature_c": {"dist": "uniform", "low": -5.0, "high": 25.0}, "wind_m_s": 3.0, "relative_humidity": 0.5,
        "ground_minus_air_k": {"dist": "uniform", "low": -6.0, "high": 6.0}, "rain_mm_h": 4.0, "visibility_m": 9000.0,
    }  # fmt: skip
    noted = {"air_c": 9.0, "humidity": 0.8, "wind_m_s": 1.5, "visibility_m": 300.0, "rain_mm_h": 0.0, "ground_c": 12.5}
    strict = {
        **NIGHT, "air_temperature_c": 9.0, "relative_humidity": 0.8, "wind_m_s": 1.5, "ground_minus_air_k": 3.5,
        "visibility_m": 300.0, "rain_mm_h": 0.0,
    }  # fmt: skip
    walks = [Crossed("fence", 25.0, "walk")]
    wanted = simulate_walks(make_site(camera=PAIR, weather=[strict]), walks, "night", crossings=8, threads=1)
    site = make_site(camera=PAIR, weather=[loose])
    found = simulate_walks(site, walks, "night", crossings=8, conditions=[noted], threads=1)
    assert np.abs(found.cycles - wanted.cycles).max() < 1e-4 and np.abs(found.gain - wanted.gain).max() < 1e-4
    for key in noted:  # each of them matters
        left_out = {each: value for each, value in noted.items() if each != key}
        other = simulate_walks(site, walks, "night", crossings=8, conditions=[left_out], threads=1)
        assert not np.array_equal(other.cycles, found.cycles)


def test_same_bits_whatever_threads_and_whatever_else_is_walked():
    """Catches a walk that depends on its neighbours, its thread or an earlier call; a seed that is not part of the key."""
    site = make_site(camera=PAIR, weather=[NIGHT, FOG])
    walks = [Crossed("fence", x, gait) for x in (5.0, 15.0, 30.0) for gait in ("walk", "run", "flat_crawl")]
    classes = ["night", "fog", "fog"] * 3
    told = []
    one = simulate_walks(site, walks, classes, crossings=6, threads=1, progress=lambda done, of: told.append((done, of)))
    two = simulate_walks(site, walks, classes, crossings=6, threads=2)
    alone = simulate_walks(site, walks[4:5], "fog", crossings=6)
    for name in ("cycles", "gain", "delay", "pd", "path_s"):
        assert np.array_equal(getattr(one, name), getattr(two, name)), name
        assert np.array_equal(getattr(one, name)[4], getattr(alone, name)[0]), name
    assert told[-1] == (54, 54)
    assert not np.array_equal(simulate_walks(site, walks[4:5], "fog", crossings=6, seed=2).cycles, alone.cycles)
    assert one.cycles.nbytes + one.gain.nbytes == 9 * 6 * 2 * 16 * 16


PROGRAM = """
import json, sys
import numpy as np
from fencecast.prove.walks.kinds import Crossed, simulate_walks
from fencecast.site import parse_site
np.seterr(over="ignore")
steps = simulate_walks(parse_site(sys.stdin.read()), [Crossed("fence", 30.0, "walk")], "fog", crossings=3, threads=1)
print(json.dumps({name: getattr(steps, name).tolist() for name in ("cycles", "gain", "delay", "pd")}))
"""


def test_compiled_and_plain_python_agree():
    """Catches compiled code that differs from its source, and a loop that no longer runs uncompiled. As the crossing loop: 1e-5
    relative, 3e-6 absolute."""
    text = site_text(camera=PAIR, weather=[FOG], perimeter=[MESH])
    path = os.pathsep.join(p for p in sys.path if p)
    environment = {**os.environ, "PYTHONPATH": path, "NUMBA_DISABLE_JIT": "1"}
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM], input=text, capture_output=True, text=True, timeout=240, env=environment
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    plain = {name: np.array(value) for name, value in json.loads(done.stdout.splitlines()[-1]).items()}
    found = simulate_walks(parse_site(text), [Crossed("fence", 30.0, "walk")], "fog", crossings=3, threads=1)
    assert (plain["gain"] > 0.0).sum() > 3
    for name, value in plain.items():
        assert np.allclose(getattr(found, name), value, rtol=1e-5, atol=3e-6), name


def test_where_a_walk_goes():
    """Catches a card that sends people elsewhere than the simulation. By hand, on a straight fence along x."""
    site = make_site(intruder={"path_m": 8.0, "speed_m_s": {"walk": 1.25}})
    walks = [Crossed("fence", 10.0, "walk", "in"), Crossed("fence", 30.0, "walk", "out")]
    into, out = walk_lines(site, walks)
    assert (*into.start_m, *into.finish_m) == pytest.approx((10.0, 0.0, 10.0, 8.0), abs=2e-3)
    assert (*out.start_m, *out.finish_m) == pytest.approx((30.0, 8.0, 30.0, 0.0), abs=2e-3)
    assert into.path_s == pytest.approx(8.0 / 1.25, abs=2e-3)
    into, out = walk_lines(site, walks, from_fence=False)
    assert (*into.start_m, *into.point_m, *into.finish_m) == pytest.approx((10.0, -8.0, 10.0, 0.0, 10.0, 8.0))
    assert out.path_m == pytest.approx(16.0)


@pytest.mark.parametrize(
    ("walk", "weather", "noted", "says"),
    [
        (Crossed("gate", 5.0, "walk"), "night", {}, 'no section "gate": fence'),
        (Crossed("fence", 41.0, "walk"), "night", {}, "fence has no 41 m: it is 40 m long"),
        (Crossed("fence", 5.0, "stroll"), "night", {}, 'no gait "stroll"'),
        (Crossed("fence", 5.0, "walk", "across"), "night", {}, 'no direction "across"'),
        (Crossed("fence", 5.0, "walk"), "noon", {}, 'no weather class "noon": night'),
        (Crossed("fence", 5.0, "walk"), "night", {"air_k": 280.0}, "no condition air_k: air_c"),
    ],
)
def test_what_cannot_be_walked_is_refused(walk, weather, noted, says):
    """Catches a walk that silently becomes another."""
    with pytest.raises(UsageError, match=says):
        simulate_walks(make_site(), [walk], weather, conditions=[noted])


def test_one_of_each_for_every_walk():
    """Catches weather or conditions that are matched to the wrong walk."""
    with pytest.raises(UsageError, match="one of each"):
        simulate_walks(make_site(), WALKS, ["night"])
