"""Tables of P(alarm | z) of many cameras: the Pd of any subset that follows from them is the Pd that the simulation gives."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from decide.place.small_yards import CORE, FOG, NIGHT, camera, yard
from fencecast.decide.layout import with_cameras
from fencecast.decide.place.joint import Joint, pairs_in_view, simulate_joint
from fencecast.estimate.simulate import advance, new_tally
from fencecast.kernels.crossing import SUM_CAMERA, SUM_PD
from fencecast.kernels.pack import pack_cells, pack_plan, watched_sections
from fencecast.site.geometry import cut_segments

FOUR = [
    camera("C1", 0.0, 1.0, 90.0),
    camera("C2", 40.0, 1.0, 270.0, lens="wide", depression=18.0),
    camera("C3", 20.0, 12.0, 180.0, lens="wide", depression=25.0),
    camera("C4", 20.0, 1.0, 90.0),
]
SITE = yard(
    cameras=FOUR,
    weather=(NIGHT, FOG),
    sensors={"core": {**CORE, "netd_spread": 0.2}},
    tolerance={"bearing_deg": 1.0},
    rule=[
        {"kind": "line", "perimeter": "south", "offset_m": 1.0},
        {"kind": "line", "perimeter": "south", "offset_m": 3.0, "cameras": ["C3"]},
    ],
)
POINTS = 4


def packed(site):
    cells = pack_cells(site, site.seed)
    return pack_plan(site), cells, watched_sections(site)[cells.section]


@pytest.fixture(scope="module")
def joint() -> Joint:
    return simulate_joint(*packed(SITE), points=POINTS)


def direct(site, points=POINTS):
    """The same crossings through the simulation's own loop."""
    plan, cells, active = packed(site)
    tally = new_tally(len(active), len(site.camera))
    advance(plan, cells, tally, np.flatnonzero(active), points, 1)
    return tally


def test_all_cameras_together_and_each_alone_are_the_simulation_itself(joint):
    """Would catch another crossing, another camera's draws, a lost rule, or an early end of the alarm (float32: 1e-6)."""
    tally = direct(SITE)
    assert np.abs(joint.pd(range(4)) - tally.mean(SUM_PD)).max() < 1e-6
    for c in range(4):
        assert np.abs(joint.pd([c]) - tally.mean(SUM_CAMERA + c)).max() < 1e-6
    assert tally.mean(SUM_PD).max() > 0.5 and joint.looks == tally.looks


@pytest.mark.parametrize("subset", [(0, 2), (1, 3), (0, 1, 3)])
def test_a_subset_is_the_simulation_of_the_site_without_the_others(joint, subset):
    """Cameras are keyed by mark, so leaving some out changes nothing for the rest."""
    tally = direct(with_cameras(SITE, [SITE.camera[c] for c in subset]))
    pd, half = joint.estimate(subset, 0.95)
    assert np.abs(pd - tally.mean(SUM_PD)).max() < 1e-6
    assert np.abs(half - tally.half_width(0.95)).max() < 1e-6


@settings(max_examples=25, deadline=None)
@given(st.sets(st.integers(0, 3), max_size=3), st.integers(0, 3))
def test_one_camera_more_never_lowers_pd_of_any_crossing(joint, subset, more):
    """Monotone, crossing by crossing; would catch a sign, or a table that is no probability."""
    before, after = joint.pd_crossings(sorted(subset)), joint.pd_crossings(sorted(subset | {more}))
    assert (after >= before - 1e-6).all() and after.max() <= 1.0 + 1e-6


@settings(max_examples=25, deadline=None)
@given(st.sets(st.integers(0, 3), max_size=3), st.sets(st.integers(0, 3), max_size=3), st.integers(0, 3))
def test_what_a_camera_adds_shrinks_with_what_is_there(joint, one, two, more):
    """Submodular, cell by cell: the ground of every bound that is reported."""
    small, large = sorted(one & two), sorted(one | two)
    gain = [joint.pd(sorted({*s, more})) - joint.pd(s) for s in (small, large)]
    assert (gain[1] <= gain[0] + 1e-6).all()


def test_joining_one_by_one_is_the_product(joint):
    pd = joint.pd_if_joined(joint.survive([0, 1]), 3, [0, 1])
    assert np.abs(pd - joint.pd([0, 1, 3])[joint.cells[3]]).max() < 1e-6


def test_compiled_and_plain_python_agree(joint):
    """The two small loops as plain Python; would catch a sum that compiler options turn into another."""
    from fencecast.kernels.joint import join, pd_with

    weights = joint.weights.astype(np.float32)
    survive, none = joint.survive([0]), np.zeros_like(joint.tables[2])
    compiled, plain = np.empty(len(joint.cells[2])), np.empty(len(joint.cells[2]))
    pd_with(survive, joint.cells[2], joint.tables[2], none, weights, compiled)
    pd_with.py_func(survive, joint.cells[2], joint.tables[2], none, weights, plain)
    assert np.abs(compiled - plain).max() < 1e-6
    again = survive.copy()
    join(survive, joint.cells[2], joint.tables[2], none.copy())
    join.py_func(again, joint.cells[2], joint.tables[2], none.copy())
    np.testing.assert_allclose(again, survive, atol=1e-7)


def test_pairs_left_out_have_no_chance(joint):
    """Would catch an angle or a circle that is too small: a pair that is not simulated counts as Pd 0."""
    plan, cells, active = packed(SITE)
    cut = cut_segments(SITE.perimeter[0], SITE.site.segment_length_m)
    seen = pairs_in_view(SITE, plan, cut.point_m, 0.5 * (cut.end_m - cut.start_m))
    for c in range(4):
        assert seen[c][joint.cells[c] % len(cut)].all()
    again = simulate_joint(plan, cells, active, points=POINTS, threads=2, may_see=np.tile(seen, 2))
    for c in range(4):
        np.testing.assert_array_equal(again.tables[c], joint.tables[c])


def test_no_pair_of_a_far_camera_is_left_out():
    """Short paths seen across a yard: here the angle decides, not the circle. Would catch a field that is taken too narrow."""
    tower = {**camera("C3", 40.0, 30.0, 180.0, "wide", 55.0), "height_m": 40.0}  # looks down: its corners reach far aside
    across = yard(
        length_m=80.0,
        cameras=[camera("C1", 40.0, 30.0, 180.0, "wide", 20.0), camera("C2", 40.0, 5.0, 180.0, "wide", 45.0), tower],
        intruder={"path_m": 1.0},
        rule=[{"kind": "line", "perimeter": "south"}],
        step_m=2.0,
    )
    plan, cells, active = packed(across)
    cut = cut_segments(across.perimeter[0], 2.0)
    seen = pairs_in_view(across, plan, cut.point_m, 0.5 * (cut.end_m - cut.start_m))
    joint = simulate_joint(plan, cells, active, points=POINTS)
    for c in range(3):
        assert len(joint.cells[c]) >= (10, 4, 10)[c] and seen[c][joint.cells[c]].all()
        if c < 2:
            assert seen[c].sum() <= len(joint.cells[c]) + 8, "and not much is simulated for nothing"


def test_tables_past_the_limit_are_the_same_from_files(joint, monkeypatch):
    import fencecast.decide.place.joint as module

    monkeypatch.setattr(module, "MOST_BYTES", 1)
    spilled = simulate_joint(*packed(SITE), points=POINTS)
    assert all(isinstance(table, np.memmap) for table in spilled.tables)
    for c in range(4):
        np.testing.assert_array_equal(spilled.tables[c], joint.tables[c])
