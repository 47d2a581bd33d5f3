"""What a walk says of N50 and the correlation: closed form for one camera, tabulated numbers, two cameras at half."""

import math
from pathlib import Path

import numpy as np
import pytest

import fencecast as fc
from fencecast.prove.walks.asfinished import Crossed
from fencecast.prove.walks.kinds import Steps
from fencecast.prove.walks.prior import CORRELATION_SD, Prior, prior_of, quantiles
from fencecast.prove.walks.worth import information, worth_of
from prove.invented_steps import invented_steps

SITE = fc.load_site(Path(__file__).parents[2] / "data" / "proof" / "short-yard.toml")


def steps_of(*cycles: float) -> Steps:
    """One walk, one crossing, a step of each camera at so many cycles."""
    count = len(cycles)
    room = np.zeros((1, 1, count, 16))
    room[0, 0, :, 0] = cycles
    return Steps(
        cycles=room, gain=(room > 0.0).astype(float), post=np.arange(count), marks=tuple("ABCD"[:count]), delay=np.zeros((1, 31)),
        delay_s=0.5 * np.arange(31), in_view=np.ones((1, count)), path_s=np.ones(1),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("x", "told"),
    [
        (0.7, 1.671),
        (0.8, 2.159),
        (0.9, 2.583),
        (1.0, 2.890),
        (1.2, 3.078),
        (1.5, 2.567),
        (1.75, 1.914),
        (2.0, 1.339),
        (2.5, 0.601),
    ],
)
def test_one_camera_says_of_n50_what_the_curve_says(x, told):
    """P (1 - P) (2.7 + 0.7 x (1 + ln x))^2, by the curve of discrimination. Catches: a slope against N50, not its logarithm."""
    p = x ** (2.7 + 0.7 * x) / (1.0 + x ** (2.7 + 0.7 * x))
    assert p * (1.0 - p) * (2.7 + 0.7 * x * (1.0 + math.log(x))) ** 2 == pytest.approx(told, abs=1.5e-3)
    found = information(steps_of(2.0 * x), 0, [0], np.array([2.0]), np.array([0.3]))[0, 0]
    assert found[0, 0] == pytest.approx(told, rel=4e-3)  # differences over 0.04 in ln N50
    assert abs(found[1, 1]) < 1e-9 and abs(found[0, 1]) < 1e-6


def test_two_cameras_at_half_say_most_of_the_correlation():
    """0.463 a walk at a correlation of 0.3: of P(both) = 1/4 + asin(r) / (2 pi). Catches: a pattern left out of the sum."""
    found = information(steps_of(2.0, 2.0), 0, [0, 1], np.array([2.0]), np.array([0.3]))[0, 0]
    both = 0.25 + math.asin(0.3) / (2.0 * math.pi)
    slope = 1.0 / (2.0 * math.pi * math.sqrt(1.0 - 0.09))
    by_hand = 2.0 * slope**2 / both + 2.0 * slope**2 / (0.5 - both)
    assert by_hand == pytest.approx(0.463, abs=6e-4)
    assert found[1, 1] == pytest.approx(by_hand, rel=5e-3)


def test_cameras_at_the_edge_of_their_frame_say_nothing():
    """Catches: blind ground taken for a large N50."""
    walks = [Crossed("front", metres, "walk") for metres in (3.0, 23.0)]
    steps = invented_steps(SITE, walks, "clear night", crossings=16)
    prior = prior_of(SITE)
    worth = worth_of(steps, prior)
    assert steps.in_view[0].tolist() == [0.0, 1.0] and worth.clean.tolist() == [True, True]
    half = steps.in_view.copy()
    half[0, 0] = 0.5
    steps.gain[0, ::2, 0, 0], steps.cycles[0, ::2, 0, 0] = 1.0, 30.0
    edge = worth_of(Steps(**{**steps.__dict__, "in_view": half}), prior)
    assert edge.clean.tolist() == [False, True]
    np.testing.assert_allclose(edge.here[0], worth.here[0])
    assert worth.weight.sum() == pytest.approx(1.0) and worth.nodes.shape == (2, 9, 2, 2)


def test_the_prior_is_the_files_own_spread_or_half_a_unit_of_the_logarithm():
    prior = prior_of(SITE)
    assert (prior.median, prior.spread, prior.correlation) == (2.0, 0.5, 0.5)
    own = SITE.text.replace("cycles_50 = 2.0", 'cycles_50 = { dist = "lognormal", median = 2.4, sigma_ln = 0.12 }')
    own = prior_of(fc.parse_site(own))
    assert (own.median, own.spread) == pytest.approx((2.4, 0.12), rel=1e-6)
    assert prior.weight.sum() == pytest.approx(1.0)
    mean = (prior.weight.sum(axis=1) * np.log(prior.cycles_50)).sum()
    spread = math.sqrt((prior.weight.sum(axis=1) * (np.log(prior.cycles_50) - mean) ** 2).sum())
    assert (mean, spread) == pytest.approx((math.log(2.0), 0.5), abs=8e-3)
    r = prior.weight.sum(axis=0)
    assert ((r * prior.r).sum(), math.sqrt((r * (prior.r - 0.45) ** 2).sum())) == pytest.approx((0.45, CORRELATION_SD), abs=4e-3)
    assert isinstance(prior, Prior) and prior.precision == pytest.approx(np.diag([4.0, 1.0 / CORRELATION_SD**2]))


def test_quantiles_are_those_of_the_weights():
    values = np.linspace(0.0, 1.0, 1001)
    assert quantiles(values, np.ones(1001), (0.025, 0.5)) == pytest.approx([0.025, 0.5], abs=1e-3)
    assert quantiles(values[::-1], (values[::-1] < 0.5).astype(float), (0.5,))[0] == pytest.approx(0.25, abs=1e-3)
