"""Sixteen numbers at once: compiled lanes against NumPy arrays of sixteen, which they are in plain Python."""

import numpy as np
import pytest
from numba.core.errors import TypingError

from fencecast import lanes
from fencecast.jit import compiled
from fencecast.physics.detector import half_erf32, normal_cdf32, ramp_integral32

RANDOM = np.random.default_rng(5)
A = RANDOM.uniform(0.1, 3.0, 40).astype(np.float32)
B = RANDOM.uniform(-3.0, 3.0, 40).astype(np.float32)
HALF = np.float32(0.5)


@compiled
def everything(a, b, out):
    """Each operation once; results into rows of `out` (flat, 16 a row)."""
    x, y = lanes.load(a, 3), lanes.load(b, 7)
    lanes.store(out, 0, x + y)
    lanes.store(out, 16, x - HALF)
    lanes.store(out, 32, HALF * y)
    lanes.store(out, 48, y / x)
    lanes.store(out, 64, abs(y))
    lanes.store(out, 80, lanes.root(x))
    lanes.store(out, 96, lanes.where_above(x, y, HALF, y))
    lanes.store(out, 112, lanes.at_most(y, HALF))
    lanes.store(out, 128, lanes.at_least(y, HALF))
    lanes.store(out, 144, lanes.rotate(x, 3))
    lanes.store(out, 160, lanes.numbers())
    lanes.store(out, 176, lanes.in_all(HALF))
    lanes.store(out, 192, HALF - y)
    lanes.store(out, 208, HALF / x)
    lanes.store(out, 224, lanes.where_above(HALF, lanes.numbers(), x, HALF))
    return lanes.first(lanes.rotate(x, 5)), lanes.number(a, 9)


def test_operations_against_arrays():
    """Catches an operator with its sides swapped, a choice the wrong way round, lanes turned the wrong way, an index that is off.
    Source: NumPy on arrays of sixteen, by the plain functions that stand beside the compiled ones."""
    out = np.zeros(240, np.float32)
    first, number = everything(A, B, out)
    plain = np.zeros(240, np.float32)
    x, y = A[3:19], B[7:23]
    rows = (x + y, x - HALF, HALF * y, y / x, np.abs(y), np.sqrt(x), np.where(x > y, HALF, y), np.minimum(y, HALF),
            np.maximum(y, HALF), np.append(x[3:], x[:3]), np.arange(16), np.full(16, HALF), HALF - y, HALF / x,
            np.where(np.arange(16) < 0.5, x, HALF))  # fmt: skip
    assert out.reshape(15, 16) == pytest.approx(np.array(rows), rel=3e-7)
    assert (first, number) == (A[8], A[9])
    everything.py_func(A, B, plain)
    assert plain.reshape(15, 16) == pytest.approx(np.array(rows), rel=3e-7)


def test_lanes_are_read_and_written_where_asked():
    """Catches a store that touches its neighbours, at places that are not whole vectors."""

    @compiled
    def move(a, out):
        lanes.store(out, 5, lanes.load(a, 11))

    out = np.full(40, 9.0, np.float32)
    move(A, out)
    assert (out[5:21] == A[11:27]).all() and (out[:5] == 9.0).all() and (out[21:] == 9.0).all()


@pytest.mark.parametrize("wrong", [A.astype(float), A[::2], A.reshape(4, 10)])
def test_only_flat_float32_is_touched(wrong):
    """Catches numbers of another kind read as if they were float32, without a word."""

    @compiled
    def read(a):
        return lanes.first(lanes.load(a, 0))

    @compiled
    def written(a, b):
        lanes.store(b, 0, lanes.load(a, 0))

    with pytest.raises(TypingError):
        read(wrong)
    with pytest.raises(TypingError):
        written(A, wrong)
    with pytest.raises(TypingError):
        compiled(lambda a: lanes.number(a, 0))(wrong)


@pytest.mark.parametrize("formula", [half_erf32, normal_cdf32, ramp_integral32])
def test_formulas_on_lanes_are_those_of_numbers(formula):
    """Catches a formula that means something else for sixteen numbers than for one."""

    @compiled
    def of_lanes(a, out):
        lanes.store(out, 0, formula(lanes.load(a, 0)))

    for _ in range(20):
        x, out = RANDOM.uniform(-6.0, 6.0, 16).astype(np.float32), np.zeros(16, np.float32)
        of_lanes(x, out)
        assert out == pytest.approx([float(formula(one)) for one in x], abs=5e-7)
