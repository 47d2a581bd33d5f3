"""Size gate and shape against values worked out apart from the code."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fencecast.physics.acceptance import PERSON_M, shape_acceptance, size_acceptance, size_ratio
from fencecast.physics.discrimination import discrimination_probability, resolved_cycles

SHAPE_CYCLES, SPREAD = 4.0, 0.20
_HEIGHT, _BREADTH, _ = PERSON_M

# Seen side on unless said: height and length [m], and the ratio s of an upright person.
BODIES = {
    "cat": (0.28, 0.46, 0.3837),
    "fox": (0.40, 0.70, 0.5657),
    "roe deer": (0.95, 1.05, 1.0677),
    "crawl, end on": (0.50, 0.507, 0.5383),
    "flat crawl, end on": (0.30, 0.507, 0.4169),
}


def ratio_of(height_m, width_m, px_per_m=10.0):
    """s of a flat rectangle that nothing hides."""
    cycles = resolved_cycles(height_m * width_m * px_per_m**2, 1.0)
    return size_ratio(cycles, _HEIGHT * _BREADTH * px_per_m**2)


@pytest.mark.parametrize("name", BODIES)
def test_ratios_of_bodies_by_hand(name):
    """Catches an area for its root, height alone, cycles that are not halved back. Source: sqrt(H W / 0.875), 1e-4 its print."""
    height, width, ratio = BODIES[name]
    assert ratio_of(height, width) == pytest.approx(ratio, abs=1e-4)
    assert ratio_of(height, width, 3.7) == pytest.approx(ratio_of(height, width), rel=1e-12)  # whatever the distance


def test_ratios_without_a_person_to_hold_them_against():
    """Catches a division by nothing where no person could be pictured."""
    assert math.isnan(size_ratio(2.0, 0.0))
    assert size_acceptance(math.nan, 2.0, 0.45, 2.0, SPREAD) == 1.0


@pytest.mark.parametrize(
    ("name", "at_2", "at_4"), [("cat", 0.3092, 0.2495), ("fox", 0.7626, 0.8340), ("flat crawl, end on", 0.4058, 0.3731)]
)
def test_gate_of_small_bodies(name, at_2, at_4):
    """Catches a pixel's error left out or doubled, variances for deviations. Source: the normal table by hand, low 0.45."""
    ratio = BODIES[name][2]
    for cycles, accepted in ((2.0, at_2), (4.0, at_4)):
        assert size_acceptance(ratio, cycles, 0.45, 0.0, SPREAD) == pytest.approx(accepted, abs=2e-4)


def test_gate_tells_size_twins():
    """Catches a size in pixels, which a near dog and a far person share. Source: 0.4 m tall at 7 m and 1.8 x 0.5 m at 31.5 m fill
    the same pixels, N 2.6574; by the person's size at each place they are 0.2254 and 1.0142."""
    cycles = 2.6574
    for ratio, accepted in ((0.2254, 0.0059), (1.0142, 0.9985)):
        assert size_acceptance(ratio, cycles, 0.45, 0.0, SPREAD) == pytest.approx(accepted, abs=1e-4)
    assert ratio_of(1.8, 0.5) == pytest.approx(1.0142, abs=1e-4)
    assert ratio_of(0.4, 0.4 * 0.5 / 1.8) == pytest.approx(0.2254, abs=1e-4)


def test_gate_has_two_ends_and_none():
    """Catches ends exchanged, an end of 0 that rejects, a gate that is on by default. Source: symmetry of the logarithm."""
    assert size_acceptance(0.1, 2.0, 0.0, 0.0, SPREAD) == 1.0
    small, large = size_acceptance(0.5, 2.0, 0.8, 0.0, SPREAD), size_acceptance(1.0 / 0.5, 2.0, 0.0, 1.0 / 0.8, SPREAD)
    assert small == pytest.approx(large, rel=1e-12)
    assert 0.0 < small < 0.5
    assert size_acceptance(1.0, 2.0, 1.25, 0.8, SPREAD) == 0.0  # nothing lies above 1.25 and below 0.8


def test_gate_of_two_ends_holds_one_estimate():
    """Catches two estimates, one for each end, which multiplies their chances (0.548 for the first of these). Source: a million
    estimates of the size, drawn and counted (standard error at most 5e-4); the first also the normal table by hand, 0.480."""
    scores = np.random.default_rng(7).standard_normal(1_000_000)
    for ratio, cycles, low, high in ((1.0, 1.0, 0.7, 1.4), (0.6, 2.0, 0.5, 2.0), (1.5, 4.0, 0.8, 1.2), (1.0, 8.0, 0.45, 2.5)):
        estimate = ratio * np.exp(math.hypot(SPREAD, 0.5 / cycles) * scores)
        counted = np.mean((estimate > low) & (estimate < high))
        assert size_acceptance(ratio, cycles, low, high, SPREAD) == pytest.approx(counted, abs=2e-3)
    assert size_acceptance(1.0, 1.0, 0.7, 1.4, SPREAD) == pytest.approx(0.480, abs=5e-4)


@given(st.floats(0.02, 5.0), st.floats(0.3, 30.0), st.floats(0.05, 3.0), st.floats(0.05, 3.0))
def test_gate_never_rises_with_its_lower_end(ratio, cycles, one, other):
    """Catches a gate that lets more pass when it is closed, and shares outside 0 to 1."""
    wide, narrow = (size_acceptance(ratio, cycles, low, 4.0, SPREAD) for low in sorted((one, other)))
    assert 0.0 <= narrow <= wide <= 1.0


@pytest.mark.parametrize(("cycles", "taken"), [(2.0, 0.4477), (3.0, 0.5950), (4.0, 0.4866), (8.0, 0.0834)])
def test_shape_with_what_is_resolved(cycles, taken):
    """Catches a shape that is told before it is resolved, c on the wrong side. Source: P(N / 2) S by hand, c 0.03. 1e-4 is its
    print."""
    resolved = discrimination_probability(cycles / 2.0)
    assert resolved * shape_acceptance(cycles, SHAPE_CYCLES, 0.03) == pytest.approx(taken, abs=1e-4)


def test_shape_of_a_person_is_a_persons():
    """Catches people rejected by their shape."""
    for cycles in (0.0, 1.0, 4.0, 40.0):
        assert shape_acceptance(cycles, SHAPE_CYCLES, 1.0) == 1.0
    assert shape_acceptance(40.0, SHAPE_CYCLES, 0.03) == pytest.approx(0.03, abs=1e-6)
