"""The integral over discrimination thresholds against brute force: N_th on a fine grid, z on a fine grid, plain chains.

The reference steps through every threshold that a grid of 4,000 values of z_c and 129 of z gives, and runs for each the plain
float64 chain of `fencecast.evidence.independent.chain`, which shares no code with the kernel.
"""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.special import ndtr, ndtri

from fencecast.evidence.independent.chain import best_confirmed, first_confirmed
from fencecast.kernels import integrate
from fencecast.kernels.integrate import CONFIRMED, DELAY, DEPTH, IN_VIEW, PD, RESOLVED, RESULTS, UNGATED
from fencecast.kernels.pack_inputs import z_quadrature
from fencecast.kernels.types import Decision
from fencecast.kernels.work import make_work

GRID_ZC = ndtri((np.arange(4000) + 0.5) / 4000)
# Equal steps of 0.1 to 6.4 sd: for these smooth integrands the trapezoidal rule is exact to 1e-12.
GRID_Z = np.linspace(-6.4, 6.4, 129)


def decision(r, confirm=(3, 5), cycles_50=2.0):
    z, weight = z_quadrature(r)
    gate = ((0.0, 0.0), 0.2)
    return Decision(5.0, 3, cycles_50, r, 5.0, *confirm, z, weight, *gate, 0, np.zeros((4, 6)), np.zeros((1, 2)))


def crossing(random, cameras, looks, confirm=(3, 5), certain=0.5):
    """Looks of several cameras that come near and go: armed in the middle, cycles that rise and fall, chances sure or not."""
    armed = np.zeros((cameras, looks), np.uint8)
    for c in range(cameras):
        a = random.integers(confirm[1] - 1, looks - 3)
        armed[c, a : a + random.integers(2, looks)] = 1
    needed = armed.copy()
    for back in range(1, confirm[1]):
        needed[:, : looks - back] |= armed[:, back:]
    peak = random.uniform(0.5, 5.0, (cameras, 1))
    place = random.uniform(0, looks, (cameras, 1))
    cycles = peak * np.exp(-(((np.arange(looks) - place) / looks) ** 2)) * random.uniform(0.8, 1.0, (cameras, looks))
    passes = np.where(random.random((cameras, looks)) < certain, 1.0, random.random((cameras, looks)))
    passes *= random.random((cameras, looks)) < 0.9
    cycles *= needed != 0
    passes *= needed != 0
    perfect = np.where(passes > 0.0, np.maximum(cycles, cycles * random.uniform(1.0, 1.6, (cameras, looks))), 0.0)
    cross = random.uniform(0.3, 0.7) * looks
    any_armed = armed.any(axis=0)
    late = np.maximum(np.arange(looks) - cross, 0.0)
    return SimpleNamespace(
        armed=armed,
        needed=needed,
        cycles=cycles,
        passes=passes,
        perfect=perfect,
        in_view=(perfect > 0.0).any(axis=1).astype(np.uint8),
        alarm_time=np.where(any_armed, np.maximum(np.arange(looks), cross), np.inf),
        depth=0.26 * late,
        delay=0.2 * late,
    )


def kernel(case, rules, posts=None, accept=None):
    """The kernel's result (RESULTS,) and each camera's own Pd; accept (cameras,): chance that what each resolves is accepted."""
    cameras, looks = case.cycles.shape
    work = make_work(cameras, 1, rules.node_z.size, rules.confirm_n - 1, 24, looks)
    for name, value in vars(case).items():
        getattr(work, name)[...] = value
    work.accept[:] = 0.0 if accept is None else accept  # not read unless asked
    result, camera_pd = np.zeros(RESULTS), np.zeros(cameras)
    posts = np.arange(cameras) if posts is None else posts
    integrate.integrate_crossing(
        work, cameras, posts, np.int64(0), np.int64(looks - 1), rules, accept is not None, result, camera_pd
    )
    return result, camera_pd


def curve(ratio):
    """P(N_th <= N) at N / N50."""
    ratio = np.maximum(ratio, 1e-30)
    return 1.0 / (1.0 + np.exp(-(2.7 + 0.7 * ratio) * np.log(ratio)))


def brute(case, rules):
    """The same by brute force: V, R, B, Pd, depth and delay, and each camera's own Pd."""
    r, confirm = rules.correlation, (rules.confirm_m, rules.confirm_n)
    z = GRID_Z if r > 0.0 else np.zeros(1)
    weight = np.exp(-0.5 * z * z)
    weight /= weight.sum()
    threshold = ndtr(np.sqrt(r) * z[:, None] + np.sqrt(1.0 - r) * GRID_ZC)  # the curve's value at N_th
    cameras, looks = case.cycles.shape
    survive = np.ones((len(z), looks))
    missed_resolved, missed_confirmed = np.ones(len(z)), np.ones(len(z))
    own = np.zeros(cameras)
    for c in range(cameras):
        armed = case.armed[c].astype(bool)
        counts = (case.needed[c] != 0) & (case.passes[c] > 0.0)
        reach = np.where(counts, curve(case.cycles[c] / rules.cycles_50), -1.0)
        levels = np.sort(reach[counts])
        # Alarm by each look with the looks active that reach a level: one row per level, and a first one with none active.
        hit = np.where(reach >= levels[::-1, None], case.passes[c], 0.0)
        table = np.cumsum(np.vstack([np.zeros((1, looks)), first_confirmed(hit, armed, confirm)]), axis=1)
        active = len(levels) - np.searchsorted(levels, threshold, side="left")
        given_z = np.stack([np.bincount(row, minlength=len(table)) @ table for row in active]) / len(GRID_ZC)
        survive *= 1.0 - given_z
        own[c] = weight @ given_z[:, -1]
        for best, missed in (
            (case.perfect[c][case.needed[c] != 0].max(initial=0.0), missed_resolved),
            (best_confirmed(case.perfect[c], armed, confirm), missed_confirmed),
        ):
            if best > 0.0:
                missed *= 1.0 - (threshold <= curve(best / rules.cycles_50)).mean(axis=1)
    used = np.flatnonzero(np.isfinite(case.alarm_time))
    first = -weight @ np.diff(np.hstack([np.ones((len(z), 1)), survive]), axis=1)
    return {
        PD: weight @ (1.0 - survive[:, -1]),
        RESOLVED: weight @ (1.0 - missed_resolved),
        CONFIRMED: weight @ (1.0 - missed_confirmed),
        IN_VIEW: float(case.in_view.any()),
        DEPTH: first[used] @ case.depth[used],
        DELAY: first[used] @ case.delay[used],
    }, own


# Brute force: half of 1/4000 in N_th for the steps of the curve, for each camera. The kernel: 1e-4 for its quadrature in z.
# Depth and delay are of up to 4 m and 3 s.
TOLERANCE = {PD: 6e-4, RESOLVED: 6e-4, CONFIRMED: 6e-4, IN_VIEW: 1e-12, DEPTH: 2e-3, DELAY: 2e-3}


@pytest.mark.parametrize("r", [0.0, 0.3, 0.5, 0.7, 0.9])
@pytest.mark.parametrize("cameras", [1, 2, 3])
def test_against_brute_force(cameras, r):
    """Catches products of averages (0.9818 for 0.9585), z shared or not, a step of the curve lost, an alarm booked at another
    look, a camera counted twice, a ladder that does not combine like Pd. Source: brute force as above."""
    random = np.random.default_rng(int(1000 * cameras + 100 * r))
    rules = decision(r)
    for _ in range(12):
        case = crossing(random, cameras, 14)
        found, own = kernel(case, rules)
        wanted, wanted_own = brute(case, rules)
        # Rungs below what the next one needs are lifted by construction; brute force has them in order already.
        for key, tolerance in TOLERANCE.items():
            assert found[key] == pytest.approx(wanted[key], abs=tolerance), key
        assert own == pytest.approx(wanted_own, abs=6e-4)


@pytest.mark.parametrize("confirm", [(1, 1), (2, 3), (4, 6), (5, 8)])
def test_other_confirmations_against_brute_force(confirm):
    """Catches a general chain that differs from the fast one's bookkeeping. Source and tolerances as above."""
    random = np.random.default_rng(81 + confirm[1])
    rules = decision(0.5, confirm)
    for _ in range(8):
        case = crossing(random, 2, 16, confirm)
        found, own = kernel(case, rules)
        wanted, wanted_own = brute(case, rules)
        for key, tolerance in TOLERANCE.items():
            assert found[key] == pytest.approx(wanted[key], abs=tolerance), key
        assert own == pytest.approx(wanted_own, abs=6e-4)


def test_each_cameras_own_pd_does_not_depend_on_the_correlation():
    """Catches an own Pd from the quadrature in z. Source: the model: the marginal is the same for every r. Equal bits."""
    random = np.random.default_rng(82)
    for _ in range(10):
        case = crossing(random, 3, 14)
        own = [kernel(case, decision(r))[1] for r in (0.0, 0.3, 0.7, 0.9)]
        assert all(np.array_equal(own[0], other) for other in own[1:])


def test_one_camera_does_not_notice_the_correlation():
    """Catches a conditional curve whose mean is not the curve, nodes in z that are too few for a curve that r makes steep.
    With one camera Pd is its own Pd for every r; 1e-4 is what the model grants the quadrature."""
    random = np.random.default_rng(83)
    worst = 0.0
    for _ in range(25):
        case = crossing(random, 1, 14)
        for r in (0.0, 0.3, 0.5, 0.7, 0.9):
            result, own = kernel(case, decision(r))
            worst = max(worst, abs(result[PD] - own[0]))
    assert worst < 1e-4


def test_two_cameras_by_hand():
    """Catches a second camera that is worthless, or independent of the first. By hand: both sure at N = N50. r = 0: 1 - 0.25; in
    general, P(either of two normals with correlation r is below 0) = 3/4 - asin(r) / (2 pi)."""
    looks = 7
    ones = np.ones((2, looks))
    case = SimpleNamespace(
        armed=ones.astype(np.uint8),
        needed=ones.astype(np.uint8),
        cycles=2.0 * ones,
        passes=ones.copy(),
        perfect=2.0 * ones,
        in_view=np.ones(2, np.uint8),
        alarm_time=np.arange(looks, dtype=float),
        depth=np.arange(looks, dtype=float),
        delay=np.arange(looks, dtype=float),
    )
    for r in (0.0, 0.3, 0.5, 0.7, 0.9):
        result, own = kernel(case, decision(r))
        wanted = 0.75 - math.asin(r) / (2.0 * math.pi)
        assert own == pytest.approx([0.5, 0.5], abs=1e-9)
        for key in (PD, CONFIRMED, RESOLVED):
            assert result[key] == pytest.approx(wanted, abs=2e-4)
        # sure looks are confirmed at the third
        assert result[DEPTH] == pytest.approx(2.0 * wanted, abs=5e-4)


def test_a_sure_alarm_has_probability_one_and_not_more():
    """Catches a Pd of 1.0000000000000002, and with it a share of misses below zero. Limit: looks that resolve fifty cycles and
    always pass, whatever the quadrature's weights add up to."""
    for cameras in (1, 2):
        ones = np.ones((cameras, 9))
        case = SimpleNamespace(
            armed=ones.astype(np.uint8),
            needed=ones.astype(np.uint8),
            cycles=50.0 * ones,
            passes=ones.copy(),
            perfect=50.0 * ones,
            in_view=np.ones(cameras, np.uint8),
            alarm_time=np.arange(9.0),
            depth=np.zeros(9),
            delay=np.zeros(9),
        )
        for r in (0.0, 0.1, 0.3, 0.5, 0.7, 0.8, 0.9):
            result, own = kernel(case, decision(r))
            assert result[: CONFIRMED + 1].max() <= 1.0
            assert result[: CONFIRMED + 1].min() > 1.0 - 1e-12
            assert own.max() <= 1.0


def test_the_ladder_always_adds_up():
    """Catches a share below zero. V >= R >= B >= Pd in every crossing, exactly, and one camera never better than all."""
    random = np.random.default_rng(84)
    for _ in range(200):
        rules = decision(float(random.choice([0.0, 0.5, 0.9])))
        result, own = kernel(crossing(random, int(random.integers(1, 4)), 14, certain=random.random()), rules)
        assert 1.0 >= result[IN_VIEW] >= result[RESOLVED] >= result[CONFIRMED] >= result[PD] >= 0.0
        assert result[PD] >= own.max() - 1e-4
        assert result[DEPTH] >= 0.0
        assert result[DELAY] >= 0.0


def test_a_long_stay_in_a_field():
    """Catches looks joined so coarsely that Pd moves: more looks than the kernel steps through one by one. Walks past and towards
    a camera, 385 looks of 26 cm each; cycles go as one over distance and are rough by a per cent from look to look, as drawn
    bodies are (pixel phases). Source: brute force. 1e-3 in Pd is what joining may cost; a hundredth of the delay and depth."""
    random = np.random.default_rng(85)
    rules = decision(0.0)
    for offset_m, scale in ((2.0, 10.0), (6.0, 20.0), (10.0, 30.0), (10.0, 80.0), (30.0, 60.0), (30.0, 100.0)):
        for sure in (True, False):
            looks = 385
            distance = np.hypot(np.linspace(-60.0, 40.0, looks), offset_m)
            cycles = scale / distance * random.uniform(0.98, 1.0, looks)
            passes = np.ones(looks) if sure else 0.25 + 0.5 * random.random(looks)
            armed = np.ones((1, looks), np.uint8)
            case = SimpleNamespace(
                armed=armed,
                needed=armed.copy(),
                cycles=cycles[None, :],
                passes=passes[None, :],
                perfect=cycles[None, :] * 1.05,
                in_view=np.ones(1, np.uint8),
                alarm_time=0.2 * np.arange(looks),
                depth=0.26 * np.arange(looks),
                delay=0.2 * np.arange(looks),
            )
            found, own = kernel(case, rules)
            wanted, wanted_own = brute(case, rules)
            assert found[PD] == pytest.approx(wanted[PD], abs=1e-3), (offset_m, scale, sure)
            assert own == pytest.approx(wanted_own, abs=1e-3)
            assert found[DELAY] == pytest.approx(wanted[DELAY], rel=0.01)
            assert found[DEPTH] == pytest.approx(wanted[DEPTH], rel=0.01)


def test_what_is_not_accepted_is_a_rung_of_its_own():
    """Catches an acceptance that multiplies the wrong camera or the look's chance instead of the alarm, that moves depth, that
    leaves cameras' own Pd alone, or a Pd without it that is not the one of a run without. Source: one camera by proportion; two
    independent cameras by the product rule."""
    random = np.random.default_rng(8)
    rules = decision(0.5)
    for _ in range(20):
        case = crossing(random, 2, 24)
        free, own = kernel(case, rules)
        assert free[UNGATED] == free[PD]
        everything, same = kernel(case, rules, accept=[1.0, 1.0])
        assert everything.tolist() == free.tolist()
        assert same.tolist() == own.tolist()
        gated, share = kernel(case, rules, accept=[0.3, 0.8])
        assert share == pytest.approx([0.3 * own[0], 0.8 * own[1]], rel=1e-12)
        assert gated[UNGATED] == pytest.approx(free[PD], rel=1e-12)
        assert gated[[IN_VIEW, RESOLVED, CONFIRMED]] == pytest.approx(free[[IN_VIEW, RESOLVED, CONFIRMED]], rel=1e-12)
        assert gated[PD] <= gated[UNGATED] <= gated[CONFIRMED]
        one, _ = kernel(case, rules, accept=[0.4, 0.0])
        alone, _ = kernel(case, rules, accept=[1.0, 0.0])
        assert one[[PD, DEPTH, DELAY]] == pytest.approx(0.4 * alone[[PD, DEPTH, DELAY]], rel=1e-12)
        apart = decision(0.0)
        _, p = kernel(case, apart)
        both, _ = kernel(case, apart, accept=[0.3, 0.8])
        assert both[PD] == pytest.approx(1.0 - (1.0 - 0.3 * p[0]) * (1.0 - 0.8 * p[1]), rel=1e-12)


def test_one_post_takes_the_better_accepted_camera():
    """Catches an acceptance after the best camera of a post is taken. Source: with one z the larger of two products."""
    case = crossing(np.random.default_rng(12), 2, 24)
    rules = decision(0.0)
    _, p = kernel(case, rules)
    assert p.min() > 0.0
    together, _ = kernel(case, rules, posts=np.zeros(2, dtype=np.int64), accept=[0.2, 0.9])
    assert together[PD] == pytest.approx(max(0.2 * p[0], 0.9 * p[1]), rel=1e-12)
    assert together[UNGATED] == pytest.approx(p.max(), rel=1e-12)
