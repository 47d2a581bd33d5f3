"""Which settings lose on both sides, by hand-made numbers."""

import numpy as np
import pytest

from fencecast.decide.tradeoff.dominated import dominated_by

METRES = [122.0, 122.0, 122.0, 50.0, 104.0, 108.0]
ALARMS = [5.07, 5.60, 3.23, 4.10, 3.32, 5.05]


def found(metres, alarms, error_m=2.0, error_log=0.02) -> list[int]:
    count = len(metres)
    off = 1.0 - np.eye(count)
    with np.errstate(divide="ignore", invalid="ignore"):
        fewer = np.log(np.array(alarms))[:, None] - np.log(np.array(alarms)) > error_log
    return dominated_by(np.array(metres), error_m * off, np.array(alarms), fewer).tolist()


def test_worse_on_one_side_and_equal_or_worse_on_the_other():
    """More alarms for the same metres; fewer metres for as many alarms; both worse than another that is not the base."""
    assert found(METRES, ALARMS) == [2, 0, -1, 2, 2, 0]


def test_a_trade_is_no_dominance():
    """Fewer metres for fewer alarms is a choice. Catches: dominance by one side alone."""
    assert found([122.0, 106.0, 48.0], [5.0, 3.3, 2.5]) == [-1, -1, -1]


def test_ties_dominate_nothing():
    """Less than half a metre and less than 1 % of the alarms are no difference, whatever the error."""
    assert found([100.0, 100.4, 100.0], [5.0, 5.0, 4.96], 0.0, 0.0) == [-1, -1, -1]
    assert found([100.0, 100.4], [5.0, 5.2], 0.0, 0.0) == [-1, 0]
    assert found([100.0, 100.6], [5.0, 5.04], 0.0, 0.0) == [1, -1]
    # One alarm in 200 nights is none, however many times that of another: sensor noise of two settings.
    assert found([100.0, 100.0, 90.0], [1e-30, 1e-9, 0.004], 0.0, 0.0) == [-1, -1, 0]


def test_what_is_within_the_error_is_no_difference():
    """Catches: a point estimate taken for a fact."""
    assert found([100.0, 97.0], [5.0, 5.0], error_m=4.0) == [-1, -1]
    assert found([100.0, 97.0], [5.0, 5.0], error_m=2.0) == [-1, 0]
    assert found([100.0, 100.0], [5.0, 5.4], error_log=0.1) == [-1, -1]
    assert found([100.0, 100.0], [5.0, 5.4], error_log=0.05) == [-1, 0]


def test_a_gain_on_the_other_side_counts_even_when_it_is_uncertain():
    """Surely more alarms, perhaps 3 m more: not called dominated, because nothing says that the metres are not there."""
    assert found([100.0, 103.0], [5.0, 6.0], error_m=10.0) == [-1, -1]


def test_no_alarms_and_unknown_alarms():
    assert found([100.0, 90.0, 100.0], [0.0, 0.0, 1.0]) == [-1, 0, 0]
    assert found([100.0, 90.0], [np.nan, np.nan]) == [-1, -1]


@pytest.mark.parametrize("seed", range(20))
def test_no_two_dominate_each_other_and_the_best_are_never_dominated(seed):
    random = np.random.default_rng(seed)
    metres, alarms = random.integers(0, 30, 12).astype(float), np.round(random.random(12) * 3 + 1, 1)
    by = found(metres, alarms, 0.0, 0.0)
    assert all(by[other] != k for k, other in enumerate(by) if other >= 0)
    best = max(range(12), key=lambda k: (metres[k], -alarms[k]))
    assert by[best] == -1 and all(by[k] == -1 or by[by[k]] == -1 or metres[by[k]] >= metres[k] for k in range(12))
