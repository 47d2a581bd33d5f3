"""Acceptance in the crossing loop: the person held against, the look that is judged, and what a size gate does to Pd."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from kernel_sites import CAMERA, ONE_PERSON, WIDE, make_site

from fencecast.estimate.dataset import LADDER
from fencecast.kernels import accept, look
from fencecast.kernels.crossing import SUM_CAMERA, SUM_PD, SUM_UNGATED, run_jobs
from fencecast.kernels.pack import pack_cells, pack_plan
from fencecast.kernels.pose import fill_pose, make_poses, optics_of, pose_of
from fencecast.kernels.types import Body, Motion
from fencecast.physics.acceptance import PERSON_M
from fencecast.physics.body import FOUR_LEGGED, WALK
from fencecast.sampling.sobol import sobol_table
from fencecast.sampling.variables import SITE_VARIABLES, variable_keys

SHORT = {"perimeter": [{"name": "fence", "points_m": [[0.0, 0.0], [24.0, 0.0]], "inside": "left"}], "segment_length_m": 6.0}


def seen(site, x, y, posture, size_m, heading):
    """Area [px^2] of a standing body's rectangle as the look draws it, and of the person it is held against."""
    plan = pack_plan(site)
    pose, optics = pose_of(make_poses(1), 0), optics_of(plan.cameras, 0)
    fill_pose(plan.cameras, 0, 0.0, 0.0, 0.0, pose)
    edges, result = np.zeros((5, 4)), np.zeros(look.LOOK_RESULTS)
    body = Body(Motion(x, y, 0.0, *heading, 0.0, 0.0, 0.0, posture), *size_m)
    assert look.fill_body_image.py_func(optics, pose, body, edges, result)
    return result[look.AREA_PX], accept.person_area_px.py_func(pose, optics, x, y)


@pytest.mark.parametrize("lens", [WIDE, WIDE | {"projection": "equidistant"}], ids=["rectilinear", "equidistant"])
def test_the_person_held_against_is_drawn_like_any_body(lens):
    """Catches another geometry for the person than for what is judged: perspective would no longer cancel. Source: the look's
    own rectangle of a body of that size that faces the camera."""
    site = make_site(lens=lens)
    for x, y in ((6.0, 2.0), (14.0, 4.5), (30.0, -3.0)):
        away = np.hypot(x, y - 2.0)
        facing = (x / away, (y - 2.0) / away)
        height, breadth, depth = PERSON_M
        area, person = seen(site, x, y, WALK, (height, breadth, depth), facing)
        assert person == pytest.approx(area, rel=1e-12)


def test_a_fox_is_as_much_of_a_person_near_and_far():
    """Catches a size that changes with distance. Source: side on 0.40 x 0.70 m is 0.5657 of a person; the depth seen from above
    moves that by a twentieth at most between 8 and 30 m."""
    ratios = []
    for x in (8.0, 15.0, 30.0):
        area, person = seen(make_site(), x, 2.0, FOUR_LEGGED, (0.40, 0.16, 0.70), (0.0, 1.0))
        ratios.append(np.sqrt(area / person))
    assert ratios == pytest.approx([0.5657] * 3, rel=0.05)


def test_the_judged_look_has_most_cycles_and_feet_on_the_ground():
    """Catches the last look, the first one, or a climber's look judged where one from the ground is there."""
    work = SimpleNamespace(judged=np.zeros((1, accept.JUDGED)), accept=np.zeros(1))
    accept.forget_looks.py_func(work, 0)
    assert work.accept[0] == 1.0
    for cycles, feet, x, kept in ((2.0, False, 1.0, 1.0), (5.0, False, 2.0, 2.0), (1.0, True, 3.0, 3.0), (6.0, False, 4.0, 3.0),
                                  (1.5, True, 5.0, 5.0), (1.2, True, 6.0, 5.0), (0.0, True, 7.0, 5.0)):  # fmt: skip
        accept.note_look.py_func(work, 0, cycles, feet, x, 0.0)
        assert work.judged[0, accept.JUDGED_X] == kept
    accept.forget_looks.py_func(work, 0)
    assert work.judged[0, accept.JUDGED_CYCLES] == 0.0


def sums_of(gate, gaits, points=16, **tables):
    site = make_site(**SHORT | tables, camera=[CAMERA, CAMERA | {"mark": "C2", "position_m": [26.0, 3.0], "aim_m": [10.0, 2.0]}],
                     decision={"size_gate": gate}, intruder=ONE_PERSON | {"gaits": gaits, "climb_s": 9.0})  # fmt: skip
    plan, cells = pack_plan(site), pack_cells(site, site.seed)
    jobs = np.arange(len(cells.weather))
    sums = np.zeros((len(jobs), SUM_CAMERA + 2))
    table = sobol_table(points, len(SITE_VARIABLES))
    run_jobs(plan, cells, variable_keys(), table, jobs, 0 * jobs, 0 * jobs, 0 * jobs + points, 1.0, 400, sums)
    return sums


def test_a_gate_never_raises_pd_and_costs_crawlers():
    """Catches a gate that adds alarms or moves other rungs, one that is asked when off, a Pd without it that is another one, and
    a gate that a crawler passes like a walker. Bit for bit where nothing may change."""
    gates = ([0.0, 0.0], [0.3, 0.0], [0.45, 0.0], [0.8, 0.0], [0.8, 1.2])
    walkers, crawlers = ([sums_of(gate, {gait: 1.0}) for gate in gates] for gait in ("walk", "crawl"))
    for found in (walkers, crawlers):
        assert found[0][:, SUM_UNGATED].tolist() == found[0][:, SUM_PD].tolist()
        for before, after in zip(found, found[1:]):
            assert np.all(after[:, SUM_PD] <= before[:, SUM_PD])
            assert np.all(after[:, SUM_CAMERA:] <= before[:, SUM_CAMERA:])
        for gated in found[1:]:
            kept = [column for column in LADDER if column != SUM_PD]
            assert gated[:, kept] == pytest.approx(found[0][:, kept], rel=1e-9)
            assert np.all(np.diff(gated[:, list(LADDER)[2:]], axis=1) <= 1e-12)
    assert walkers[0][:, SUM_PD].sum() > 40.0
    lost = [1.0 - found[3][:, SUM_PD].sum() / found[0][:, SUM_PD].sum() for found in (walkers, crawlers)]
    assert lost[1] > 2.0 * lost[0] > 0.0


def test_somebody_up_on_a_fence_seems_farther_away_and_larger():
    """Catches a climber held against a person at the true foot of the fence, where nobody is seen. Source: all armed looks show
    feet 0.8 to 2 m up under cameras at 4 m, which seem to stand 1.25 to 2 times as far, where a person looks so much smaller:
    a gate that leaves out what is 1.2 times a person keeps a walker and leaves out most climbers."""
    fence = SHORT["perimeter"][0]
    shares = []
    for barrier in ({}, {"barrier": "mesh", "barrier_height_m": 2.0}):
        sums = sums_of([0.0, 1.2], {"walk": 1.0}, perimeter=[fence | barrier])
        shares.append(sums[:, SUM_PD].sum() / sums[:, SUM_UNGATED].sum())
    assert shares[0] > 0.6 and shares[1] < 0.3
