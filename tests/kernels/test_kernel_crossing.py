"""Whole crossings: compiled against plain Python, jobs against crossings one by one, arrays that outlive their borrowers."""

from __future__ import annotations

import inspect
import json
import os
import subprocess
import sys

import numpy as np
import pytest
from kernel_sites import CAMERA, CORE, FENCE, NIGHT, make_site, site_text

from fencecast.kernels import crossing
from fencecast.kernels.crossing import SUM_ANY_VIEW, SUM_ARMED, SUM_CAMERA, SUM_IN_VIEW, SUM_LOOKS, SUM_PD, run_jobs
from fencecast.kernels.pack import pack_cells, pack_plan
from fencecast.kernels.work import make_work
from fencecast.sampling.sobol import combine_keys, owen_scramble, sobol_table, to_unit
from fencecast.sampling.variables import DIMENSION, SITE_VARIABLES, variable_keys

FOG = {**NIGHT, "name": "fog", "fog": "radiation", "visibility_m": 90.0, "relative_humidity": 0.99, "ground_minus_air_k": 0.3}
BUSY = {
    "perimeter": [{**FENCE, "points_m": [[0.0, 0.0], [24.0, 0.0], [40.0, 5.0]], "barrier": "mesh"}],
    "obstacle": [{"name": "hut", "footprint_m": [[10.0, 5.0], [14.0, 5.0], [14.0, 8.0], [10.0, 8.0]], "height_m": 3.0}],
    "camera": [CAMERA, {**CAMERA, "mark": "C2", "position_m": [40.0, 7.0], "aim_m": [20.0, 1.0]}],
    "weather": [NIGHT, FOG],
    "segment_length_m": 20.0,
    "decision": {"looks_per_s": 2.0, "threshold_sigma": 4.0},
    "intruder": {"turn_deg": {"dist": "uniform", "low": -20.0, "high": 20.0}, "pause_s": 0.5, "climb_s": 2.0},
    "tolerance": {"bearing_deg": 1.0, "depression_deg": 0.5, "height_m": 0.05},
}
OTHER = {
    **BUSY,
    "rule": [
        {"kind": "line", "perimeter": "fence", "direction": "both", "offset_m": 1.0},
        {"kind": "area", "points_m": [[0.0, 2.0], [40.0, 7.0], [40.0, 12.0], [0.0, 9.0], [0.0, 2.0]], "dwell_s": 0.5},
    ],
    "decision": {"looks_per_s": 2.0, "confirm": [2, 3], "min_pixels": 2, "encounter_correlation": 0.8, "threshold_sigma": 4.0},
    "lens": {"focal_length_mm": 3.0, "f_number": 1.0, "projection": "equidistant", "relative_illumination": "cos4"},
}

# Some paths cross no line: nothing is armed, and nothing of the crossing before may be left over.
PARTLY = {**BUSY, "rule": [{"kind": "line", "points_m": [[12.0, 1.0], [21.0, 1.0]]}]}

# Runs the jobs of a site given as text on standard input and prints the sums.
PROGRAM = """
import json, sys
import numpy as np
from fencecast.kernels.crossing import SUM_CAMERA, run_jobs
from fencecast.kernels.pack import pack_cells, pack_plan
from fencecast.sampling.sobol import sobol_table
from fencecast.sampling.variables import SITE_VARIABLES, variable_keys
from fencecast.site import parse_site

np.seterr(over="ignore")  # keys are mixed in 64-bit arithmetic that wraps on purpose
site = parse_site(sys.stdin.read())
plan, cells = pack_plan(site), pack_cells(site, site.seed)
jobs = np.arange(len(cells.weather))
sums = np.zeros((len(jobs), SUM_CAMERA + plan.cameras.bearing_rad.size))
run_jobs(
    plan, cells, variable_keys(), sobol_table(4, len(SITE_VARIABLES)), jobs, jobs % 3, 0 * jobs, 0 * jobs + 1, 1.0, 400, sums
)
print(json.dumps({"compiled": hasattr(run_jobs, "py_func"), "sums": sums.tolist()}))
"""


def run_elsewhere(text, **environment):
    """(compiled or not, sums) of the jobs of a site in a fresh interpreter with other environment variables."""
    path = os.pathsep.join(p for p in sys.path if p)
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM],
        input=text,
        capture_output=True,
        text=True,
        check=False,
        timeout=240,
        env={**os.environ, "PYTHONPATH": path, **environment},
    )
    assert done.returncode == 0, done.stderr
    answer = json.loads(done.stdout.splitlines()[-1])
    return answer["compiled"], np.array(answer["sums"])


def job_arrays(plan, cells, points=1, replicates=None, first=0):
    jobs = np.arange(len(cells.weather))
    sums = np.zeros((len(jobs), SUM_CAMERA + plan.cameras.bearing_rad.size))
    replicate = jobs % 3 if replicates is None else replicates
    return jobs, replicate, 0 * jobs + first, 0 * jobs + points, sums


def run(plan, cells, points=1, replicates=None, first=0):
    jobs, replicate, start, stop, sums = job_arrays(plan, cells, points, replicates, first)
    table = sobol_table(1 << max(points - 1, 1).bit_length(), len(SITE_VARIABLES))
    run_jobs(plan, cells, variable_keys(), table, jobs, replicate, start, stop, 1.0, 400, sums)
    return sums


@pytest.mark.parametrize("tables", [BUSY, OTHER], ids=["defaults", "the other branches"])
def test_compiled_and_plain_python_agree(tables):
    """Catches compiled code that differs from its source: integers that wrap or widen, arrays freed too early, reordered sums
    that lose digits; and kernels that no longer run uncompiled. 1e-5 relative, 3e-6 absolute: float32 in the pixel loop, fused
    and reordered in one form only."""
    is_compiled, plain = run_elsewhere(site_text(**tables), NUMBA_DISABLE_JIT="1")
    assert not is_compiled
    site = make_site(**tables)
    compiled = run(pack_plan(site), pack_cells(site, site.seed))
    assert compiled[:, SUM_LOOKS].tolist() == plain[:, SUM_LOOKS].tolist()
    assert compiled[:, SUM_LOOKS].sum() > 20
    assert compiled == pytest.approx(plain, rel=1e-5, abs=3e-6)


@pytest.mark.parametrize("tables", [OTHER, PARTLY], ids=["all armed", "some not armed"])
def test_jobs_are_their_crossings_added_up(tables):
    """Catches scratch that carries something from one crossing to the next, sums in a row of another job, arrays that the
    borrowing loop reads after they were freed. Reference: each crossing alone, in a scratch of its own, in reverse order.
    Equal bits."""
    site = make_site(**tables)
    plan, cells = pack_plan(site), pack_cells(site, site.seed)
    found = run(plan, cells, points=6)
    keys, table = variable_keys(), sobol_table(8, len(SITE_VARIABLES))
    wanted = np.zeros_like(found)
    for job in reversed(range(len(found))):
        rows = []
        for point in reversed(range(6)):
            row = np.zeros_like(found[:1])
            one = np.array([job]), np.array([job % 3]), np.array([point]), np.array([point + 1])
            run_jobs(plan, cells, keys, table, *one, 1.0, 400, row)
            rows.append(row[0])
        for row in reversed(rows):
            wanted[job] += row
    assert np.array_equal(found, wanted)


def test_borrowed_arrays_stay_alive():
    """Catches arrays freed while the loop reads them: a crash (hence a process of its own) or other numbers. The C library is
    asked to give freed arrays back to the system at once and to overwrite freed memory; the bits must be those of this
    process."""
    asked = {"MALLOC_MMAP_THRESHOLD_": "4096", "MALLOC_PERTURB_": "165"}
    is_compiled, found = run_elsewhere(site_text(**BUSY), **asked)
    assert is_compiled
    site = make_site(**BUSY)
    assert np.array_equal(found, run(pack_plan(site), pack_cells(site, site.seed)))


def test_replicates_differ():
    """Catches a replicate that is not part of the key: eight equal scramblings would promise an interval of no width."""
    site = make_site(**BUSY)
    plan, cells = pack_plan(site), pack_cells(site, site.seed)
    sums = [run(plan, cells, points=4, replicates=np.full(len(cells.key), r)) for r in range(3)]
    assert not np.array_equal(sums[0], sums[1])
    assert not np.array_equal(sums[1], sums[2])


def test_points_can_be_added_later():
    """Catches draws that depend on how many points are asked for. Points 0-3 and then 4-7 into the same rows are points 0-7."""
    site = make_site(**BUSY)
    plan, cells = pack_plan(site), pack_cells(site, site.seed)
    jobs, replicate, _, _, sums = job_arrays(plan, cells)
    for start, stop in ((0, 4), (4, 8)):
        table = sobol_table(stop, len(SITE_VARIABLES))
        run_jobs(plan, cells, variable_keys(), table, jobs, replicate, 0 * jobs + start, 0 * jobs + stop, 1.0, 400, sums)
    assert np.array_equal(sums, run(plan, cells, points=8))


OWN_DRAW = {
    "draw_state": {"u": "hour"},
    "draw_air": {
        "u_air": "air_temperature",
        "u_humidity": "relative_humidity",
        "u_wind": "wind",
        "u_visibility": "visibility",
        "u_rain": "rain",
        "u_snow": "snow",
        "u_ground": "ground_minus_air",
        "u_clutter": "clutter",
        "u_wetness": "wetness",
        "u_drop": "drop_radius",
    },
    "draw_clothing": {"u_clo": "clo", "u_emissivity": "clothing_emissivity", "u_bare": "bare_head_share"},
    "draw_speed": {"u": "speed"},
    "draw_track": {
        "u_position": "position",
        "u_angle": "approach_angle",
        "u_turn": "turn",
        "u_pause": "pause",
        "u_climb": "climb",
        "u_direction": "direction",
    },
    "arm_looks": {"phase": "look_phase"},
}


def test_every_draw_reaches_its_own_variable(monkeypatch):
    """Catches two variables that share a draw, or that were exchanged between the list of names and the physics. The crossing's
    plain Python with every drawing function listened to: each argument is the draw of the variable of its name. (Gait, stature
    and depth are read in place: their draws are those that no function was given.)"""
    site = make_site(**BUSY)
    plan, cells = pack_plan(site), pack_cells(site, site.seed)
    work = make_work(2, plan.bands.low_um.size, plan.decision.node_z.size, 4, len(SITE_VARIABLES), 400)
    work.units[:] = (np.arange(len(SITE_VARIABLES)) + 0.5) / len(SITE_VARIABLES)
    heard, read = {}, []

    def listened(name):
        function = getattr(crossing, name)
        names = list(inspect.signature(function.py_func).parameters)

        def listener(*arguments):
            heard[name] = dict(zip(names, arguments))
            return function(*arguments)

        monkeypatch.setattr(crossing, name, listener)

    for name in OWN_DRAW:
        listened(name)
    original = crossing.quantile
    monkeypatch.setattr(crossing, "quantile", lambda row, choice, u: read.append(u) or original(row, choice, u))
    crossing.render_crossing.py_func(plan, cells, 0, 0, (np.uint64(5),) * 3, 1.0, True, work)
    expected = set(SITE_VARIABLES) - {"gait", "stature", "depth_ratio"}
    for name, arguments in OWN_DRAW.items():
        for argument, variable in arguments.items():
            assert heard[name][argument] == work.units[DIMENSION[variable]], (name, argument)
            expected.discard(variable)
    assert not expected
    assert read[:2] == [work.units[DIMENSION["stature"]], work.units[DIMENSION["depth_ratio"]]]


def test_draws_are_the_scrambled_points():
    """Catches a key of another variable, points that are not the sequence's. Plain definition: the shared point scrambled by
    the key of stratum, replicate and variable; every variable is stratified over 64 points."""
    site = make_site(**BUSY)
    cells = pack_cells(site, site.seed)
    keys = variable_keys()
    work = make_work(1, 1, 1, 4, len(keys), 8)
    replicate_key = np.uint64(combine_keys(cells.key[0], np.uint64(1)))
    own = [np.uint64(combine_keys(replicate_key, key)) for key in keys]
    work.keys[:] = own
    table = sobol_table(64, len(keys))
    draws = np.zeros(table.shape)
    for point, row in enumerate(table):
        crossing.draw_units(work, row, len(keys))
        draws[point] = work.units
        assert work.units.tolist() == [to_unit(np.uint64(owen_scramble(x, key))) for x, key in zip(row, own)]
    assert np.array_equal(np.sort(np.floor(draws * 64), axis=0), np.tile(np.arange(64.0)[:, None], (1, len(keys))))


def test_no_camera_listens():
    """Catches looks rendered by cameras that no rule asks. The second camera watches nothing: no Pd of its own, no looks."""
    tables = {**BUSY, "rule": [{"kind": "line", "perimeter": "fence", "cameras": ["C1"]}]}
    site = make_site(**tables)
    both = run(pack_plan(site), pack_cells(site, site.seed), points=4)
    site = make_site(**{**tables, "camera": BUSY["camera"][:1]})
    alone = run(pack_plan(site), pack_cells(site, site.seed), points=4)
    assert np.array_equal(both[:, : SUM_CAMERA + 1], alone)
    assert (both[:, SUM_CAMERA + 1] == 0.0).all()


# Where the only camera looks: along the fence, or away from it.
AWAY = {**CAMERA, "mark": "C2", "aim_m": [-16.0, 30.0]}


@pytest.mark.parametrize(
    ("rule", "cameras", "wanted"),
    [
        ({"kind": "line", "perimeter": "fence", "cameras": ["C1"]}, [CAMERA, AWAY], (1, 1, 1)),
        ({"kind": "line", "perimeter": "fence", "cameras": ["C2"]}, [CAMERA, AWAY], (1, 1, 0)),
        ({"kind": "line", "perimeter": "fence", "cameras": ["C2"]}, [AWAY], (1, 0, 0)),
        ({"kind": "line", "points_m": [[100.0, 1.0], [110.0, 1.0]]}, [CAMERA], (0, 0, 0)),
    ],
    ids=["heard", "seen but not heard", "not in view", "no rule on the way"],
)
def test_what_a_rule_asks_and_what_any_camera_sees(rule, cameras, wanted):
    """Catches a rule that hears nobody or a missing line blamed on the camera, a turned camera blamed on the rule. Reference: the
    ladder by hand: A, V_all and V of crossings 10 to 20 m in front of a camera, or behind its back."""
    tables = {"perimeter": [{**FENCE, "points_m": [[10.0, 0.0], [20.0, 0.0]]}], "camera": cameras, "rule": [rule]}
    site = make_site(**tables)
    sums = run(pack_plan(site), pack_cells(site, site.seed), points=8)
    assert sums[:, [SUM_ARMED, SUM_ANY_VIEW, SUM_IN_VIEW]].tolist() == [[8.0 * share for share in wanted]]


def _pd(cameras, points=16, **tables):
    site = make_site(
        camera=cameras,
        sensor={**CORE, "netd_spread": 0.0},
        rule=[{"kind": "line", "perimeter": "fence"}],
        segment_length_m=4.0,
        **tables,
    )
    return run(pack_plan(site), pack_cells(site, site.seed), points=points, replicates=np.zeros(10, dtype=np.int64))[:, SUM_PD]


@pytest.mark.parametrize(
    ("others", "alike"), [([1.9], True), ([2.1], False), ([1.9, 3.8], True)], ids=["1.9 m", "2.1 m", "chain"]
)
def test_one_post_is_one_pair_of_eyes(others, alike):
    """Catches cameras on one mast that are paid for each. Reference: the model's section 3: the best of them counts, so that no
    second camera helps where the first alone is better; 2.1 m apart each adds its chance. All look the same way, from beside."""
    cameras = [{**CAMERA, "mark": f"C{k}", "position_m": [-x, 2.0]} for k, x in enumerate((0.0, *others))]
    alone = np.max([_pd([camera]) for camera in cameras], axis=0)
    together = _pd(cameras)
    far = slice(3, 6)  # 12 to 24 m: some crossings are missed, and the nearest camera is the best in all
    assert (together[far] >= alone[far] - 1e-9).all()
    assert (np.abs(together[far] - alone[far]).max() < 1e-9) == alike


def test_the_same_camera_twice():
    """Catches a post whose chances are multiplied. Reference: equal bits of Pd, the ladder, depth and delay."""
    one = _pd([CAMERA])
    assert np.array_equal(_pd([CAMERA, {**CAMERA, "mark": "C2"}]), one)


def test_behind_the_foot_of_a_steep_camera():
    """Catches bodies lost behind the foot: 9 m up, 85 degrees down, the person is in frame whether the picture's top points to
    him or away. Reference: the same picture turned by half a turn; Pd within 0.1 of each other."""
    steep = {"mark": "C1", "position_m": [20.0, 2.0], "height_m": 9.0, "depression_deg": 85.0, "sensor": "core", "lens": "wide"}
    fence = [{**FENCE, "points_m": [[18.0, 0.0], [22.0, 0.0]]}]
    pd = []
    for bearing in (180.0, 0.0):
        site = make_site(perimeter=fence, camera=[{**steep, "bearing_deg": bearing}], segment_length_m=4.0)
        pd.append(run(pack_plan(site), pack_cells(site, site.seed), points=64)[0, SUM_PD] / 64)
    assert pd[0] > 0.8 and pd[1] == pytest.approx(pd[0], abs=0.1)
