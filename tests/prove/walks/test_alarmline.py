"""The line at which the caller takes the time, against values done by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fencecast.prove.walks.alarmline import AlarmLine, AlarmLines
from prove.aimyards import camera, yard

FENCE = {"name": "south", "points_m": [[0.0, 0.0], [48.0, 0.0]], "inside": "left"}


def met(rules, start=(20.0, 0.0), finish=(20.0, 12.0), direction="in"):
    """Fence along +x, inside to the north; the walk is at x = 20."""
    site = yard([camera()], perimeter=[FENCE], rule=rules)
    return AlarmLines(site).met(start, finish, direction, np.array([20.0, 0.0]), np.array([0.0, 1.0]))


def line(offset_m, **keys):
    return {"kind": "line", "perimeter": "south", "offset_m": offset_m, **keys}


def test_the_first_line_on_the_way():
    """1.5 m and 3 m inside: inwards the nearer one, outwards the farther one; at the fence itself 0."""
    lines = [line(3.0, direction="both"), line(1.5, direction="both")]
    assert met(lines) == AlarmLine(pytest.approx(1.5), False)
    assert met(lines, (20.0, 12.0), (20.0, 0.0), "out") == AlarmLine(pytest.approx(3.0), False)
    assert met([line(0.0)]).inside_m == pytest.approx(0.0, abs=1e-9)
    slant = 12.0 * math.tan(math.radians(30.0))
    assert met([line(1.5)], finish=(20.0 + slant, 12.0)).inside_m == pytest.approx(1.5)


def test_a_control_has_the_line_that_it_crosses_the_wrong_way():
    """With a line for each direction each walk has its own; with none for it the other."""
    lines = [line(3.0), line(1.5, direction="outward")]
    assert met(lines).inside_m == pytest.approx(3.0)
    assert met(lines, (20.0, 12.0), (20.0, 0.0), "out").inside_m == pytest.approx(1.5)
    assert met([line(3.0)], (20.0, 12.0), (20.0, 0.0), "out").inside_m == pytest.approx(3.0)


def test_an_area_is_met_on_the_way_into_it():
    """A box from y = 4 to 9: inwards at 4, outwards at 9; who starts in it meets nothing."""
    area = [{"kind": "area", "points_m": [[10.0, 4.0], [30.0, 4.0], [30.0, 9.0], [10.0, 9.0], [10.0, 4.0]]}]
    assert met(area) == AlarmLine(pytest.approx(4.0), True)
    assert met(area, (20.0, 12.0), (20.0, 0.0), "out").inside_m == pytest.approx(9.0)
    assert met(area, (20.0, 5.0), (20.0, 0.0), "out") is None
    assert met([{"kind": "line", "points_m": [[40.0, 3.0], [45.0, 3.0]]}]) is None
