"""From where to where a curve reaches the requirement: ends by hand, noise that makes no stretch, what is not known."""

import math

import numpy as np
import pytest

from fencecast.findings.lenstitles import range_words
from fencecast.findings.spans import shown_stretches, spans_of

D = np.array([10.0, 20.0, 30.0, 40.0, 50.0, 60.0])
NEED = 0.90


def spans(pd, half=0.02, distances=D):
    pd = np.array(pd, dtype=float)
    return spans_of(distances, pd, pd - half, pd + half, NEED)


def test_ends_lie_between_the_simulated_distances():
    """By hand: from 0.80 at 10 m to 1.00 at 20 m, 0.90 is at 15 m; from 0.96 at 40 m to 0.86 at 50 m at 46 m. With 0.02 less or
    more the ends are 14 and 16 m, 44 and 48 m. Catches: the grid point instead (20 and 40 m), ends of the interval swapped."""
    (span,) = spans([0.80, 1.00, 0.98, 0.96, 0.86, 0.5])
    assert (span.near.place_m, span.near.low_m, span.near.high_m) == pytest.approx((15.0, 14.0, 16.0))
    assert (span.far.place_m, span.far.low_m, span.far.high_m) == pytest.approx((46.0, 44.0, 48.0))
    assert span.shown and range_words((span,), D) == "15–46 m"


def test_three_crossings_by_noise_are_one_end():
    """0.91, 0.89, 0.91, 0.80 with half widths of 0.02: no point of the dip is shown to be below. Catches: an end at the first
    crossing, two stretches, an interval as narrow as if there were one crossing."""
    (span,) = spans([0.95, 0.95, 0.91, 0.89, 0.91, 0.80])
    assert span.near is None and span.far.place_m == pytest.approx(50.0 + 10.0 / 11.0)
    assert span.far.low_m == pytest.approx(20.0 + 10.0 * 0.03 / 0.04)  # 0.93 at 20 m, 0.89 at 30 m
    assert span.far.high_m == pytest.approx(50.0 + 10.0 * 0.03 / 0.11)


def test_an_island_that_is_not_shown_makes_no_stretch_beside_one_that_is():
    """Catches: 'with gaps' for a curve that falls once and touches the line again by noise."""
    (span,) = spans([0.97, 0.97, 0.95, 0.85, 0.905, 0.85])
    assert span.far.place_m == pytest.approx(35.0)
    both = spans([0.97, 0.97, 0.85, 0.85, 0.97, 0.85])
    assert len(both) == 2 and range_words(both, D) == "<10 to 26 m, 44–56 m"


def test_nowhere_is_said_only_where_the_curve_never_reaches():
    """Catches: 'nowhere' for a curve above the line whose interval is below it."""
    assert range_words(spans([0.5, 0.89, 0.899, 0.89, 0.5, 0.1]), D) == "nowhere"
    (span,) = spans([0.5, 0.88, 0.91, 0.88, 0.5, 0.1])
    assert not span.shown and range_words((span,), D) == "27–33 m, undecided"
    assert math.isnan(span.near.high_m) and math.isnan(span.far.low_m)
    assert range_words(None, D) == "no data"


def test_what_goes_on_beyond_the_last_distance_is_said_so():
    """Catches: the last simulated distance taken for the end."""
    (span,) = spans([0.5, 0.95, 0.97, 0.97, 0.97, 0.97])
    assert span.far is None and range_words((span,), D) == "19 to beyond 60 m"
    (span,) = spans([0.95] * 6)
    assert range_words((span,), D) == "<10 to beyond 60 m" and range_words((span,), D, "us").endswith("(<33 to beyond 197 ft)")


def test_nothing_is_said_beyond_a_distance_that_was_not_simulated():
    """Catches: an end interpolated into a gap, stretches joined across one."""
    found = spans([np.nan, 0.95, np.nan, 0.95, 0.95, 0.5])
    assert [each.metres(D) for each in found] == [(20.0, 20.0), (40.0, pytest.approx(51.11, abs=0.01))]


def test_the_full_bar_is_where_the_lower_end_reaches():
    """0.93 at 20 m, 0.83 at 30 m: 0.90 at 23 m. Catches: a bar to the grid point, or of the curve itself."""
    assert shown_stretches(D, np.array([0.8, 0.93, 0.83, 0.9, 0.8, 0.8]), NEED) == [
        (pytest.approx(10 + 10 * 0.10 / 0.13), pytest.approx(23.0)),
        (pytest.approx(40.0), pytest.approx(40.0)),
    ]
