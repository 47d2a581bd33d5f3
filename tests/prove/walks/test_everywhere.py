"""A claim at every segment, by hand: 10 segments, 4 gaits and 29 walks each are 1,160 walks, 58 hours at 3 minutes."""

from __future__ import annotations

import pytest

from fencecast.findings.walkplan import everywhere_words
from fencecast.prove.walks.everywhere import Everywhere, everywhere
from fencecast.prove.walks.planfile import Trial
from prove.invented_walks import invented_plan


def test_ten_segments_four_gaits():
    full = Everywhere(10, 4, 29, 191, 191)
    assert (full.walks, full.hours, full.planned_hours) == (1160, 58.0, pytest.approx(9.55))


def test_a_plan_against_all_of_its_fence():
    """46 m in segments of 2 m (the site's), walk and crouch; controls and walks after a miss are told apart."""
    plan = invented_plan()
    more = (Trial(trial=37, kind="K1", round=2, control=True), Trial(trial=38, kind="K1", round=2, claim="C1", rung=2))
    full = everywhere(plan.model_copy(update={"trials": (*plan.trials, *more)}))
    assert (full.segments, full.gaits, full.walks_each, full.planned, full.most) == (SEGMENTS, 2, 29, 36, 37)
    said = everywhere_words(plan)
    assert f"{SEGMENTS} × 2 × 29 = {SEGMENTS * 58:,} walks" in said and "This plan: 36 walks, 1.8 hours" in said


SEGMENTS = 23
