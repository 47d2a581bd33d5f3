"""Quantities that vary: medians, bounds, units inside tables, and what is cut at physical limits."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from fencecast.site import Quantity
from fencecast.site.number import Number, Refused
from fencecast.site.varying import Varying

TEMPERATURE = Varying(Number("a temperature", 5.0, 9.0, at_least=-90, at_most=70, unit="c"))
LENGTH = Varying(Number("a visibility", 70.0, 200.0, above=0, unit="m"))
SHARE = Varying(Number("a share", 0.2, 0.5, at_least=0, at_most=1))

CASES = [
    (Quantity.fixed(3.0), None),
    (Quantity.uniform(2.0, 6.0), stats.uniform(2.0, 4.0)),
    (Quantity.normal(1.3, 0.25), stats.norm(1.3, 0.25)),
    (Quantity.normal(1.3, 0.25, 0.3), stats.truncnorm(-4.0, math.inf, 1.3, 0.25)),
    (Quantity.normal(0.0, 1.0, 1.0, 3.0), stats.truncnorm(1.0, 3.0)),
    (Quantity.normal(0.0, 1.0, None, -1.0), stats.truncnorm(-math.inf, -1.0)),
    (Quantity.lognormal(70.0, 0.3), stats.lognorm(0.3, scale=70.0)),
    (Quantity("triangular", low=1.0, mode=2.0, high=7.0), stats.triang(1 / 6, 1.0, 6.0)),
    (Quantity("triangular", low=1.0, mode=1.0, high=7.0), stats.triang(0.0, 1.0, 6.0)),
    (Quantity("triangular", low=1.0, mode=7.0, high=7.0), stats.triang(1.0, 1.0, 6.0)),
]


@pytest.mark.parametrize(("quantity", "other"), CASES[1:])
def test_quantiles_agree_with_a_statistics_library(quantity, other):
    """Source: scipy.stats. Would catch clipping in place of truncation, a mean in place of a median, a wrong branch."""
    p = np.array([0.001, 0.05, 0.2, 0.5, 0.8, 0.95, 0.999])
    assert [quantity.quantile(each) for each in p] == pytest.approx(other.ppf(p), rel=1e-9)
    assert quantity.middle() == pytest.approx(other.median(), rel=1e-9)
    low, high = other.support()
    assert quantity.bounds() == pytest.approx((low, high))


def test_choice():
    """Closed form. The median of a few values is the first at which half the weight is reached."""
    quantity = Quantity("choice", values=(8.0, 0.0, 3.0), weights=(0.1, 0.6, 0.3))
    assert [quantity.quantile(p) for p in (0.1, 0.59, 0.61, 0.89, 0.91)] == [0.0, 0.0, 3.0, 3.0, 8.0]
    assert quantity.middle() == 0.0 and quantity.bounds() == (0.0, 8.0)
    never = Quantity("choice", values=(1.0, 9.0), weights=(0.0, 1.0))
    assert never.bounds() == (9.0, 9.0) and never.quantile(1e-13) == 9.0


def test_fixed():
    assert Quantity.fixed(3).middle() == 3.0 and Quantity.fixed(3).bounds() == (3.0, 3.0) and Quantity.fixed(3).is_fixed


@given(st.floats(min_value=-20, max_value=30), st.floats(min_value=0.1, max_value=5))
def test_likely_bounds_hold_all_but_one_draw_in_a_million(mean, sd):
    low, high = Quantity.normal(mean, sd).likely_bounds()
    assert stats.norm(mean, sd).cdf(low) + stats.norm(mean, sd).sf(high) < 1e-6


# ------------------------------------------------------------------------------------------------ reading


def test_temperatures_have_an_offset_and_their_spread_has_none():
    """Would catch a standard deviation of 3.6 F read as -15.8 C. Closed form: 41 F = 5 C, 3.6 F of difference = 2 K."""
    quantity = TEMPERATURE.parse({"dist": "normal", "mean": "41 F", "sd": "3.6 F", "low": "32 F", "high": "283.15 K"})
    assert (quantity.mean, quantity.sd, quantity.low, quantity.high) == (5.0, 2.0, 0.0, 10.0)


def test_lengths_have_units_in_tables_and_lists():
    """Closed form: 1 yd = 0.9144 m."""
    assert LENGTH.parse("0.25 km") == Quantity.fixed(250.0)
    assert LENGTH.parse({"dist": "lognormal", "median": "100 yd", "sigma_ln": 0.3}).median == 91.44
    assert LENGTH.parse({"dist": "choice", "values": ["100 ft", 50], "weights": [1, 1]}).values == (30.48, 50.0)
    assert LENGTH.parse({"dist": "triangular", "low": "10 ft", "mode": "20 ft", "high": "30 ft"}).mode == 6.096


def test_weights_are_made_to_add_up_to_one():
    """Relative weights are what people type; what is stored is a probability, and stays itself when read again."""
    quantity = SHARE.parse({"dist": "choice", "values": [0.1, 0.2, 0.3], "weights": [1, 1, 1]})
    assert math.fsum(quantity.weights) == pytest.approx(1.0, abs=1e-15)
    assert SHARE.parse(quantity) == quantity
    assert SHARE.parse({"dist": "choice", "values": [0.1, 0.2]}).weights == (0.5, 0.5)


def test_a_normal_is_cut_at_physical_limits_only_when_it_could_reach_them():
    """Would catch a relative humidity above 1, and a needless cut that would show up in written files."""
    near = SHARE.parse({"dist": "normal", "mean": 0.5, "sd": 0.06})
    assert (near.low, near.high) == (0.0, 1.0)
    far = SHARE.parse({"dist": "normal", "mean": 0.5, "sd": 0.01})
    assert (far.low, far.high) == (None, None)
    own = SHARE.parse({"dist": "normal", "mean": 0.9, "sd": 0.2, "low": 0.3, "high": 0.99})
    assert (own.low, own.high) == (0.3, 0.99)


@pytest.mark.parametrize(
    ("mean", "sd", "low", "high", "left"), [(0, 1, 4.7, 20, True), (0, 1, 4.8, 20, False), (0, 1, -20, -4.8, False)]
)
def test_a_cut_that_leaves_next_to_nothing_is_refused(mean, sd, low, high, left):
    """Source: the upper tail of the normal, Q(4.7) = 1.3e-6, Q(4.8) = 7.9e-7 (scipy.stats)."""
    assert (stats.norm.sf(min(abs(low), abs(high))) > 1e-6) == left
    table = {"dist": "normal", "mean": mean, "sd": sd, "low": low, "high": high}
    if left:
        assert TEMPERATURE.parse(table).low == low
    else:
        with pytest.raises(Refused, match="a millionth"):
            TEMPERATURE.parse(table)


@pytest.mark.parametrize(("quantity", "_"), CASES)
def test_quantities_survive_being_written_and_read(quantity, _):
    wide = Varying(Number("a number", 1.0, at_least=-1e6, at_most=1e6))
    assert wide.parse(quantity.as_toml_value()) == quantity
    assert wide.parse(quantity) == quantity


def test_a_quantity_cannot_be_changed():
    with pytest.raises(AttributeError):
        Quantity.fixed(1.0).value = 2.0
