"""The recorder's clock: a line through the checks, by hand."""

from __future__ import annotations

import datetime

import pytest

from fencecast.prove.log.clocks import fit_clock

START = datetime.datetime(2026, 11, 29, 22, 0)


def at(hours: float) -> datetime.datetime:
    return START + datetime.timedelta(hours=hours)


def test_two_checks_are_a_line():
    clock = fit_clock([(at(2.0), 4.0), (at(0.0), 3.0)])
    assert (clock.offset_s, clock.drift_s_per_h, clock.moved_s) == (pytest.approx(3.0), pytest.approx(0.5), 1.0)
    assert clock.caller_s(at(1.0)) == pytest.approx(3.5)
    assert clock.caller_s(at(-1.0)) == pytest.approx(2.5)


def test_three_checks_are_the_line_of_least_squares():
    # Offsets 0, 3, 0 at 0, 1, 2 hours: level at their mean.
    clock = fit_clock([(at(0.0), 0.0), (at(1.0), 3.0), (at(2.0), 0.0)])
    assert clock.drift_s_per_h == pytest.approx(0.0) and clock.offset_s == pytest.approx(1.0)
    assert clock.moved_s == 3.0


def test_checks_of_one_moment_have_no_drift():
    clock = fit_clock([(at(0.0), 1.0), (at(0.0), 2.0)])
    assert (clock.offset_s, clock.drift_s_per_h) == (1.5, 0.0)
    with pytest.raises(ValueError):
        fit_clock([])
