"""Encounters: the person's loop, limits that must hold, draws that nobody else touches, plain Python."""

from __future__ import annotations

import dataclasses
import json
import os
import subprocess
import sys

import numpy as np
import pytest
from kernel_sites import CAMERA, FENCE, NIGHT, make_site, site_text

from fencecast.estimate.encounters import simulate_encounters
from fencecast.estimate.simulate import SUM_PD, advance, new_tally
from fencecast.kernels import pack_stimuli as packing
from fencecast.kernels.crossing import SUM_CAMERA, SUM_IN_VIEW
from fencecast.kernels.pack import pack_cells, pack_plan
from fencecast.kernels.pack_stimuli import pack_stimuli
from fencecast.kernels.types import APPROACH_RAD, WAY_ANGLE_RAD, WAY_REACH_M
from fencecast.site.quantity import Quantity
from fencecast.site.stimuli import Stimulus, resolve

EVERYWHERE = {"none": 1.0, "mesh": 1.0, "palisade": 1.0, "wall": 1.0}
EAST = {**CAMERA, "mark": "C2", "position_m": [40.0, 3.0], "aim_m": [20.0, 1.0]}
AREA = {"kind": "area", "points_m": [[0.0, 2.0], [40.0, 2.0], [40.0, 5.0], [0.0, 5.0], [0.0, 2.0]], "dwell_s": 0.5}
BOTH = {"kind": "line", "perimeter": "fence", "offset_m": 1.0, "direction": "both"}
WALKING = {"gaits": {"walk": 1.0}, "turn_deg": 0.0, "pause_s": 0.0}
LOOSE = {"bearing_deg": 0.5, "depression_deg": 0.5, "height_m": 0.05}


def body(kind="fox", **keys):
    rate = {"per_night": Quantity.fixed(1.0)} if kind == "people" else {}
    return dataclasses.replace(resolve(Stimulus(kind=kind, **rate)), **keys)


def through(kind="fox", **keys):
    """One that no fence turns."""
    return body(kind, **{"way": "cross", "through": EVERYWHERE, **keys})


@pytest.mark.parametrize(
    "tables",
    [
        {"rule": [BOTH], "decision": {"cycles_50": 6.0}},
        {"rule": [BOTH, AREA], "decision": {"cycles_50": 3.0, "confirm": [2, 3], "size_gate": [0.6, 0.0]}, "obstacle": []},
        {
            "lens": {"focal_length_mm": 3.0, "f_number": 1.0, "projection": "equidistant"},
            "obstacle": [{"name": "hut", "footprint_m": [[10.0, 5.0], [14.0, 5.0], [14.0, 8.0], [10.0, 8.0]], "height_m": 3.0}],
            "rule": [BOTH],
        },
    ],
    ids=["line", "area and gate", "equidistant"],
)
def test_the_same_walker_in_both_loops(tables, monkeypatch):
    """People who cross by the person's own draws, without an error of the foot point, raise what the person's loop says: its
    alarm probability, what is in view, each camera alone. The loops share looks and the chain, but neither ways nor when a rule
    is armed. Catches a wrong time or sense of a crossing, a window too long, a wrong draw, a post counted twice."""
    site = make_site(camera=[CAMERA, EAST], intruder=WALKING, tolerance=LOOSE, segment_length_m=8.0, **tables)
    plan, cells = pack_plan(site), pack_cells(site, 3)
    tally = new_tally(len(cells.weather), 2)
    advance(plan, cells, tally, np.arange(len(cells.weather)), 4, 1)
    people = through("people")
    packed = pack_stimuli(site, [people])
    quantity = packed.quantity.copy()
    quantity[0, WAY_ANGLE_RAD] = plan.intruder.quantity[APPROACH_RAD]
    quantity[0, WAY_REACH_M, :2] = 0.0, plan.intruder.outside_m
    key = packing.stratum_key
    monkeypatch.setattr(packing, "stratum_key", lambda *names: key(*names[:-1], "main"))
    changed = packed._replace(quantity=quantity, foot_point_px=0.0)
    met = simulate_encounters(site, [people], 3, packed=changed, points=4, most_points=4)
    assert 0.2 < tally.mean(SUM_PD).mean() < 0.95
    assert met.p[0, 0] == pytest.approx(tally.mean(SUM_PD), abs=2e-4)
    assert met.in_view[0, 0] == pytest.approx(tally.mean(SUM_IN_VIEW), abs=0.02)
    for camera in range(2):
        assert met.p_camera[0, 0, :, camera] == pytest.approx(tally.mean(SUM_CAMERA + camera), abs=2e-4)


@pytest.fixture(scope="module")
def site():
    """40 m of open fence, two cameras 4 m high."""
    return make_site(camera=[CAMERA, EAST], segment_length_m=10.0, weather=[{**NIGHT, "air_temperature_c": VARYING}])


VARYING = {"dist": "normal", "mean": 7.0, "sd": 4.0}


def test_a_stimulus_more_leaves_the_draws_of_others(site):
    """To the last bit, wherever it stands in the list and on however many threads. Catches strata keyed by place in the list."""
    fox, cat, people = through(), through("cat", perimeters=("fence",)), body("people")
    alone = simulate_encounters(site, [cat], 5)
    among = simulate_encounters(site, [fox, cat, people], 5, threads=2)
    for name in ("p", "p_se", "p_camera", "in_view", "believed", "active_share", "crossings"):
        assert np.array_equal(getattr(alone, name)[0], getattr(among, name)[1]), name
    assert among.names == ("fox", "cat", "people") and among.p[:2].min() > 0.0
    assert not np.array_equal(simulate_encounters(site, [cat], 6).p, alone.p)


def test_nothing_as_high_as_the_cameras_is_on_the_ground(site):
    """A flyer above the cameras has no ground point and crosses nothing; below it has one."""
    high, low = (
        through("bat", name=name, way="over", base_m=Quantity.fixed(b), active={}) for name, b in (("a", 4.1), ("b", 1.0))
    )
    met = simulate_encounters(site, [high, low], 1)
    assert not met.p[0].any() and not met.believed[0].any()
    assert met.believed[1].min() > 0.2


def test_farther_out_never_raises_more():
    """People who pass outside the side fence, the same draws at each offset. The camera along the other fence takes them for
    people inside the corner when its error is larger than their offset: fewer alarms the farther out, none without an error.
    Catches an error that grows the wrong way, an offset of the wrong sign."""
    corner = [FENCE, {**FENCE, "name": "side", "points_m": [[40.0, 0.0], [40.0, 20.0]]}]
    site = make_site(perimeter=corner, segment_length_m=10.0, decision={"threshold_sigma": 3.0, "cycles_50": 0.5})
    levels, people = [], body("people", perimeters=("side",))
    for offset in (-0.3, -1.0, -2.0, -4.0, -12.0):
        passing = dataclasses.replace(people, offset_m=Quantity.fixed(offset))
        levels.append(simulate_encounters(site, [passing], 1, points=16).p[0, 0, 4:].mean())
    assert levels[0] > 0.1 and levels[2] > 0.01 and all(near >= far for near, far in zip(levels, levels[1:])), levels
    assert levels[0] > 2.0 * levels[3] and levels[4] == 0.0
    exact = simulate_encounters(site, [people], 1, packed=pack_stimuli(site, [people])._replace(foot_point_px=0.0))
    assert not exact.believed.any()


def test_a_turned_animal_is_one_that_walks_along():
    """Through a fence that lets nobody through: to the last bit the same animal whose way is along."""
    mesh = make_site(perimeter=[{**FENCE, "barrier": "mesh"}], segment_length_m=20.0)
    turned = body(through=dict.fromkeys(EVERYWHERE, 0.0))
    met = [simulate_encounters(mesh, [each], 2) for each in (turned, dataclasses.replace(turned, way="along"), through())]
    assert np.array_equal(met[0].p, met[1].p) and met[0].p.max() > 0.0
    assert met[2].p.mean() > 2.0 * met[0].p.mean()


def test_out_of_its_weather_it_counts_nothing(site):
    """Air is 7 C, sd 4 K: half of the encounters take place above 7 C and none above 60 C; heavy rain leaves its share. What an
    encounter raises is counted over all of them."""
    always, half, never = (
        through(name="fox", active={} if low is None else {"air_temperature_c": (low, 99.0)}) for low in (None, 7.0, 60.0)
    )
    all_of_them, warm, none = (simulate_encounters(site, [each], 1) for each in (always, half, never))
    assert all_of_them.active_share.item() == 1.0 and none.active_share.item() == 0.0 and not none.p.any()
    assert warm.active_share.item() == pytest.approx(0.5, abs=0.05)
    assert 0.3 < warm.p.mean() / all_of_them.p.mean() < 0.7
    wet = make_site(camera=[CAMERA, EAST], segment_length_m=10.0, weather=[{**NIGHT, "rain_mm_h": 5.0}])
    shy = [simulate_encounters(wet, [through("cat", rain_share=share)], 1, points=4, most_points=4) for share in (1.0, 0.25)]
    assert shy[1].active_share.item() == 0.25
    assert shy[1].p == pytest.approx(0.25 * shy[0].p) and shy[0].p.max() > 0.0


def test_where_it_does_not_come_nothing_is_simulated():
    two = [{**FENCE, "points_m": [[0.0, 0.0], [20.0, 0.0]]}, {**FENCE, "name": "other", "points_m": [[20.0, 0.0], [40.0, 0.0]]}]
    site = make_site(perimeter=two, rule=[{"kind": "line", "points_m": [[0.0, 1.0], [40.0, 1.0]]}], segment_length_m=10.0)
    met = simulate_encounters(site, [through(perimeters=("other",))], 1)
    assert met.crossings[0, 0, :2].tolist() == [0, 0] and met.crossings[0, 0, 2:].min() >= 32
    assert not met.p[0, 0, :2].any() and not met.half_width(0.95)[0, 0, :2].any() and met.half_width(0.95)[0, 0, 2:].min() > 0.0


def test_size_twins(monkeypatch):
    """A yard 4.5 times as large, crossed by what is 4.5 times as large and fast, under a camera as many times higher, is the same
    picture: the same alarms without a gate, all but the air between; with a gate the small one is turned down."""
    found = {}
    for gate in (0.0, 0.45):
        for scale in (1.0, 4.5):
            camera = {"mark": "C1", "position_m": [0.0, -7.0 * scale], "height_m": 1.0 * scale, "aim_m": [0.0, 0.0]}
            site = make_site(
                perimeter=[{**FENCE, "points_m": [[-2.0 * scale, 0.0], [2.0 * scale, 0.0]]}],
                camera=[{**CAMERA, **camera}],
                rule=[{"kind": "line", "points_m": [[-8.0 * scale, 0.2 * scale], [8.0 * scale, 0.2 * scale]]}],
                segment_length_m=4.0 * scale,
                decision={"cycles_50": 2.6, "size_gate": [gate, 0.0]},
            )
            size = tuple(scale * x for x in (0.4, 0.28 / 4.5, 0.5 / 4.5))
            twin = through("cat", name="twin", size_m=size, speed_m_s=Quantity.fixed(0.3 * scale), confused=1.0)
            twin = dataclasses.replace(twin, coat_m2k_w=(Quantity.fixed(0.2),) * 2)
            packed = pack_stimuli(site, [twin])
            quantity = packed.quantity.copy()
            quantity[0, WAY_REACH_M, 1:3] *= scale / 4.5
            found[gate, scale] = simulate_encounters(site, [twin], 1, packed=packed._replace(quantity=quantity)).p.mean()
    assert found[0.0, 1.0] == pytest.approx(found[0.0, 4.5], abs=0.02) and found[0.0, 1.0] > 0.1
    assert found[0.45, 1.0] < 0.1 * found[0.0, 1.0]
    assert found[0.45, 4.5] > 0.95 * found[0.0, 4.5]


PROGRAM = """
import json, sys
import numpy as np
import fencecast.job
assert "fencecast.kernels.encounter" not in sys.modules  # a site without stimuli never asks for it
from fencecast.estimate.encounters import simulate_encounters
from fencecast.site import parse_site
from fencecast.site.quantity import Quantity
from fencecast.site.stimuli import Stimulus, resolve

np.seterr(over="ignore")  # keys are mixed in 64-bit arithmetic that wraps on purpose
site = parse_site(sys.stdin.read())
kinds = [("fox", {}), ("bird", {}), ("people", {"per_night": Quantity.fixed(1.0), "offset_m": Quantity.fixed(-0.5)})]
bodies = [resolve(Stimulus(kind=kind, **keys)) for kind, keys in kinds]
met = simulate_encounters(site, bodies, 3, points=1, most_points=1)
print(json.dumps({"p": met.p.tolist(), "p_camera": met.p_camera.tolist(), "looks": met.looks}))
"""


def test_plain_python_is_the_same():
    """The kernel's own source, uncompiled. Catches what the compiler reads differently, and a job that imports the loop for
    sites without stimuli."""
    text = site_text(camera=[CAMERA, EAST], segment_length_m=40.0, perimeter=[{**FENCE, "barrier": "mesh"}])
    path, found = os.pathsep.join(p for p in sys.path if p), []
    for plain in ("0", "1"):
        done = subprocess.run(
            [sys.executable, "-c", PROGRAM],
            input=text, capture_output=True, text=True, check=False, timeout=300,
            env={**os.environ, "PYTHONPATH": path, "NUMBA_DISABLE_JIT": plain},
        )  # fmt: skip
        assert done.returncode == 0, done.stderr
        found.append(json.loads(done.stdout))
    assert found[0]["looks"] == found[1]["looks"] > 50
    assert np.array(found[0]["p"]) == pytest.approx(np.array(found[1]["p"]), abs=1e-5)
    assert np.array(found[0]["p_camera"]) == pytest.approx(np.array(found[1]["p_camera"]), abs=1e-5)
    assert np.max(found[0]["p"]) > 0.05
