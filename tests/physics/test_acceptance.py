"""What is taken for a person, by shape and by size, against values worked out beforehand."""

from __future__ import annotations

import pytest

from fencecast.physics.acceptance import shape_acceptance, size_acceptance
from fencecast.physics.discrimination import discrimination_probability


def test_shape_printed_values():
    """Catches: confusion on the wrong side, shape told apart at the cycles of detection. c 0.03, N50 2, N_shape 4."""
    for cycles, wanted in ((2.0, 0.4477), (3.0, 0.5950), (4.0, 0.4866), (8.0, 0.0834)):
        found = discrimination_probability(cycles / 2.0) * shape_acceptance(cycles, 4.0, 0.03)
        assert found == pytest.approx(wanted, abs=5e-5)
    assert shape_acceptance(50.0, 4.0, 1.0) == 1.0 and shape_acceptance(0.0, 4.0, 0.03) == 1.0


def test_gate_printed_values():
    """Catches: a ratio of areas for one of lengths, a spread of one side. Lower limit 0.45; and the two sizes that a picture
    cannot tell apart by pixels: 0.4 m at 7 m and 1.8 m at 31.5 m."""
    cat, fox, crawler = 0.3837, 0.5657, 0.4169
    for size, at_2, at_4 in ((cat, 0.3092, 0.2495), (fox, 0.7626, 0.8340), (crawler, 0.4058, 0.3731)):
        assert size_acceptance(size, 2.0, 0.45, 0.0, 0.20) == pytest.approx(at_2, abs=1.5e-4)
        assert size_acceptance(size, 4.0, 0.45, 0.0, 0.20) == pytest.approx(at_4, abs=1.5e-4)
    for size, wanted in ((0.2254, 0.0059), (1.0142, 0.9985)):
        assert size_acceptance(size, 2.6574, 0.45, 0.0, 0.20) == pytest.approx(wanted, abs=5e-5)


def test_gate_ends():
    """Catches: a limit of 0 that refuses everything, upper and lower limit exchanged. Mirror images in ln s."""
    assert size_acceptance(0.3, 2.0, 0.0, 0.0, 0.2) == 1.0
    assert size_acceptance(0.5, 3.0, 0.0, 2.0, 0.2) == pytest.approx(size_acceptance(2.0, 3.0, 0.5, 0.0, 0.2), rel=1e-12)
    both = size_acceptance(0.5, 3.0, 0.4, 2.0, 0.2)
    assert both == pytest.approx(size_acceptance(0.5, 3.0, 0.4, 0.0, 0.2) * size_acceptance(0.5, 3.0, 0.0, 2.0, 0.2), rel=1e-12)
    assert size_acceptance(0.0, 3.0, 0.4, 0.0, 0.2) == 0.0
