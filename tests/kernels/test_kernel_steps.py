"""Steps of a camera against the integration itself, and against the chain run anew for every look.

The integration holds N50; the steps are taken once and asked for N50s that they never knew. Cases as in `test_kernel_integrate`.
"""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from fencecast.evidence.independent.chain import first_confirmed
from fencecast.kernels.steps import LEAST_GAIN, MOST_STEPS, camera_steps
from fencecast.kernels.work import make_work
from kernels.test_kernel_integrate import crossing, curve, decision, kernel

N50S = (0.5, 1.0, 2.0, 3.1, 7.0)


def steps_of(case, rules, camera=0, accepted=1.0):
    """(how many, N (16,), gains (16,)) of a camera."""
    cameras, looks = case.cycles.shape
    work = make_work(cameras, 1, rules.node_z.size, rules.confirm_n - 1, 24, looks)
    for name, value in vars(case).items():
        getattr(work, name)[...] = value
    cycles, gain = np.full(MOST_STEPS, 9.0), np.full(MOST_STEPS, 9.0)
    found = camera_steps(work, camera, np.int64(0), np.int64(looks - 1), rules, accepted, cycles, gain)
    return found, cycles, gain


def every_step(case, camera, confirm):
    """N and gain of every look that counts, by the independent chain: nothing joined, nothing left out."""
    counts = (case.needed[camera] != 0) & (case.passes[camera] > 0.0)
    order = np.flatnonzero(counts)[np.argsort(-case.cycles[camera][counts], kind="stable")]
    hit, total = np.zeros((len(order) + 1, case.cycles.shape[1])), [0.0]
    for i, look in enumerate(order):
        hit[i + 1] = hit[i]
        hit[i + 1, look] = case.passes[camera, look]
    if len(order):
        total = first_confirmed(hit, case.armed[camera].astype(bool), confirm).sum(axis=1)
    return case.cycles[camera][order], np.diff(total)


@pytest.mark.parametrize("confirm", [(3, 5), (2, 3), (1, 1), (2, 4), (4, 8)])
@pytest.mark.parametrize("certain", [1.0, 0.5, 0.0], ids=["sure", "some sure", "unsure"])
def test_steps_are_the_integration_at_any_n50(confirm, certain):
    """Catches a step lost or booked at another look, a chain of other looks, N50 that has found its way in. Source: the
    camera's own Pd of the integration at each N50, within 1e-6; the independent chain, look by look."""
    random = np.random.default_rng(sum(confirm) + int(10 * certain))
    seen = 0
    for _ in range(12):
        case = crossing(random, 2, 14, confirm, certain)
        found, cycles, gain = steps_of(case, decision(0.3, confirm), 1)
        assert found <= 14 and (gain[:found] > 0.0).all() and (gain[found:] == 0.0).all() and (cycles[found:] == 0.0).all()
        assert (np.diff(cycles[:found]) < 0.0).all() and gain.sum() <= 1.0 + 1e-12
        alone, gains = every_step(case, 1, confirm)
        for n50 in N50S:
            pd = gain[:found] @ curve(cycles[:found] / n50)
            assert pd == pytest.approx(kernel(case, decision(0.3, confirm, n50))[1][1], abs=1e-6)
            assert pd == pytest.approx(gains @ curve(alone / n50), abs=1e-6)
        seen += found > 0
    assert seen > 6


def test_clear_air_leaves_the_third_best_of_five():
    """Catches a step at another look. By hand: five sure looks, all armed; the third-best decides alone."""
    cycles = np.array([[1.0, 4.0, 2.0, 5.0, 3.0]])
    ones = np.ones((1, 5))
    flags = np.ones((1, 5), np.uint8)
    case = SimpleNamespace(armed=flags, needed=flags, cycles=cycles, passes=ones)
    found, n, gain = steps_of(case, decision(0.5))
    assert found == 1 and n[0] == pytest.approx(3.0, rel=1e-12) and gain[0] == 1.0
    found, n, gain = steps_of(case, decision(0.5), accepted=0.25)
    assert found == 1 and n[0] == pytest.approx(3.0, rel=1e-12) and gain[0] == 0.25


def test_what_hardly_adds_is_no_step():
    """Catches a step for every look of a night in which nothing more is to be had, and gains that are dropped instead of carried.
    Reference: gains of 4e-8 look by look, which together are the alarm of the chain."""
    looks = 40
    cycles = np.linspace(5.0, 1.0, looks)[None]
    passes = np.full((1, looks), 4e-8)
    flags = np.ones((1, looks), np.uint8)
    case = SimpleNamespace(armed=flags, needed=flags, cycles=cycles, passes=passes)
    found, n, gain = steps_of(case, decision(0.5, (1, 1)))
    assert found == 13 and (gain[:found] > LEAST_GAIN).all()
    assert gain.sum() == pytest.approx(39 * 4e-8, rel=1e-3)


@pytest.mark.parametrize("looks", [30, 48, 60, 200, 400])
@pytest.mark.parametrize("passing", [0.02, 0.1, 0.35, "sure when far"])
def test_long_stays(looks, passing):
    """Catches looks joined by their F at one N50, steps merged without regard to their gains, gains lost in merging. Source: the
    chain of every look, at any N50, within the 1e-3 that the model's page states: hundreds of looks that rarely pass, or that do
    only where they are small."""
    random = np.random.default_rng(looks)
    cycles = np.sort(random.uniform(1.0, 6.0, looks))[None]
    passes = np.where(cycles < 3.0, 1.0, 0.05) if passing == "sure when far" else np.full((1, looks), passing)
    flags = np.ones((1, looks), np.uint8)
    case = SimpleNamespace(armed=flags, needed=flags, cycles=cycles, passes=passes)
    found, n, gain = steps_of(case, decision(0.5))
    assert 0 < found <= MOST_STEPS and (np.diff(n[:found]) < 0.0).all() and (gain[:found] > 0.0).all()
    alone, gains = every_step(case, 0, (3, 5))
    assert gain.sum() == pytest.approx(gains.sum(), abs=2e-7)
    worst = max(abs(gain @ curve(n / n50) - gains @ curve(alone / n50)) for n50 in np.geomspace(0.5, 8.0, 25))
    assert worst < 1e-3
