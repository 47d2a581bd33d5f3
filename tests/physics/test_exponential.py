"""exp and log that melt into the loop, against the C library's."""

import math

import numpy as np
import pytest

from fencecast.physics.exponential import exponential, logarithm


def test_exponential():
    """Catches a term of the series lost, a power of two off by one, a wrong end of the range. Source: the C library's exp."""
    for x in np.concatenate(
        [np.linspace(-707.9, 707.9, 5001), np.linspace(-1.0, 1.0, 2001), [0.0, -1e-300, 0.5 * math.log(2.0)]]
    ):
        assert exponential(x) == pytest.approx(math.exp(x), rel=1e-13), x
    assert exponential(-1e9) == pytest.approx(math.exp(-708.0), rel=1e-12)
    assert exponential(1e9) == pytest.approx(math.exp(708.0), rel=1e-12)
    assert exponential(0.0) == 1.0


def test_logarithm():
    """Catches a mantissa split on the wrong side, a lost term. Source: the C library's log."""
    near_one = 1.0 + np.concatenate([-np.geomspace(1e-12, 0.3, 200), np.geomspace(1e-12, 0.5, 200)])
    for x in np.concatenate([np.geomspace(1e-307, 1e307, 5001), near_one, [math.sqrt(0.5), math.sqrt(2.0)]]):
        assert logarithm(x) == pytest.approx(math.log(x), rel=1e-13, abs=1e-16), x
    assert logarithm(1.0) == 0.0


def test_plain_python_gives_the_same():
    """Catches a compiled form that differs from what is written: the range of distances and depths of the simulation."""
    for x in (1e-3, 0.7, 1.0, 33.3, 2000.0):
        assert logarithm(x) == pytest.approx(logarithm.py_func(x), rel=1e-14, abs=1e-16)
        assert exponential(-x) == pytest.approx(exponential.py_func(-x), rel=1e-13)
