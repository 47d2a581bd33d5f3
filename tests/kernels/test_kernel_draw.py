"""Quantile functions of the site file's distributions against a statistics library, through the packing of the site."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest
from scipy import stats

from fencecast.kernels import draw, state
from fencecast.kernels.pack_quantity import Choices, pack_quantity
from fencecast.site.quantity import Quantity

U = np.concatenate([np.linspace(0.0005, 0.9995, 400), [0.5 * 2.0**-32, 1.0 - 0.5 * 2.0**-32]])


def values(quantity, scale=1.0, shift=0.0):
    choices = Choices()
    row = pack_quantity(quantity, choices, scale, shift)
    return np.array([draw.quantile(row, choices.table(), u) for u in U])


@pytest.mark.parametrize(
    ("quantity", "theirs"),
    [
        (Quantity.fixed(3.5), None),
        (Quantity.uniform(-3.0, 4.0), stats.uniform(-3.0, 7.0)),
        (Quantity.normal(1.3, 0.25), stats.norm(1.3, 0.25)),
        (Quantity.normal(1.69, 0.10, 1.45, 2.00), stats.truncnorm(-2.4, 3.1, 1.69, 0.10)),
        (Quantity.normal(1.3, 0.25, low=0.3), stats.truncnorm(-4.0, np.inf, 1.3, 0.25)),
        (Quantity.normal(0.0, 2.0, high=-1.0), stats.truncnorm(-np.inf, -0.5, 0.0, 2.0)),
        (Quantity.lognormal(5.0, 0.35), stats.lognorm(0.35, scale=5.0)),
        (Quantity("triangular", low=-1.0, mode=0.5, high=4.0), stats.triang(0.3, -1.0, 5.0)),
        (Quantity("triangular", low=1.0, mode=1.0, high=4.0), stats.triang(0.0, 1.0, 3.0)),
        (Quantity("triangular", low=1.0, mode=4.0, high=4.0), stats.triang(1.0, 1.0, 3.0)),
    ],
    ids=lambda case: getattr(case, "dist", ""),
)
def test_quantiles(quantity, theirs):
    """Catches clipping for truncation, sigma for its square, mode for median, a wrong tail at the ends of a 32-bit draw. Source:
    scipy.stats ppf; 1e-8 covers the subtraction of two distribution functions in a truncated tail."""
    wanted = np.full(len(U), 3.5) if theirs is None else theirs.ppf(U)
    assert values(quantity) == pytest.approx(wanted, rel=1e-8, abs=1e-9)


def test_choice():
    """Catches an off-by-one in the cumulative weights. By hand: weights 2, 1, 1 cut (0, 1) at 0.5 and 0.75, a weightless value
    never comes; and scipy's discrete quantile."""
    found = values(Quantity("choice", values=(7.0, 1.0, 9.0, 4.0), weights=(0.5, 0.25, 0.0, 0.25)))
    assert set(found) == {7.0, 1.0, 4.0}
    assert found.tolist() == np.select([U < 0.5, U < 0.75], [7.0, 1.0], 4.0).tolist()
    order = stats.rv_discrete(values=((0, 1, 2, 3), (0.5, 0.25, 0.0, 0.25))).ppf(U).astype(int)
    assert found.tolist() == np.array([7.0, 1.0, 9.0, 4.0])[order].tolist()


def test_second_choice_has_its_own_rows():
    """Catches tables that overlap. Two choices in one table."""
    choices = Choices()
    pack_quantity(Quantity("choice", values=(1.0, 2.0)), choices)
    row = pack_quantity(Quantity("choice", values=(3.0, 4.0, 5.0)), choices)
    found = {draw.quantile(row, choices.table(), u) for u in U}
    assert found == {3.0, 4.0, 5.0}


@pytest.mark.parametrize(
    "quantity",
    [
        Quantity.fixed(-5.0),
        Quantity.uniform(-3.0, 4.0),
        Quantity.normal(1.0, 2.0, -1.0, 4.0),
        Quantity("triangular", low=-1.0, mode=0.5, high=4.0),
        Quantity("choice", values=(1.0, -2.0)),
    ],
    ids=lambda q: q.dist,
)
def test_units_scale_and_shift_every_distribution(quantity):
    """Catches a spread that is shifted, a bound left in Celsius or degrees. Metamorphic: the converted quantile is the quantile
    converted. 1e-12: rounding."""
    plain = values(quantity)
    assert values(quantity, shift=273.15) == pytest.approx(plain + 273.15, rel=1e-12)
    assert values(quantity, scale=math.pi / 180.0) == pytest.approx(plain * math.pi / 180.0, rel=1e-12, abs=1e-15)
    assert values(Quantity.lognormal(3.0, 0.4), scale=0.01) == pytest.approx(
        0.01 * values(Quantity.lognormal(3.0, 0.4)), rel=1e-12
    )


def test_a_state_is_drawn_by_its_weight():
    """Catches: a state that is never drawn, weights shifted by one, a class that reads its neighbour's states. Enumeration: the
    share of evenly spread draws that fall on each state is its weight."""
    weather = SimpleNamespace(class_first=np.array([0, 1, 5, 7]), cumulative=np.array([1.0, 0.1, 0.4, 0.4, 1.0, 0.5, 1.0]))
    even = (np.arange(1000) + 0.5) / 1000
    shares = [np.bincount([state.draw_state.py_func(weather, k, u) for u in even], minlength=7) / 1000 for k in range(3)]
    assert shares[0].tolist() == [1.0, 0, 0, 0, 0, 0, 0]
    assert shares[1].tolist() == [0, 0.1, 0.3, 0, 0.6, 0, 0]
    assert shares[2].tolist() == [0, 0, 0, 0, 0, 0.5, 0.5]
