"""What was walked, for `built --run` to stand beside design and as built.

Tests: tests/prove/built/test_built_walked.py.
"""

from __future__ import annotations

from os import PathLike

from fencecast.prove.log.read import read_log
from fencecast.prove.log.walked import WalkLog
from fencecast.prove.walks.planfile import WalkPlan, read_plan


def walked_places(plan: str | PathLike[str], log: str | PathLike[str]) -> tuple[dict[tuple[str, float], tuple[int, int]], str]:
    """Alarms and walks by section and chainage [m], and the weather class they were walked in; InputError for bad files."""
    whole = read_plan(plan)
    return count_places(whole, read_log(log, whole)), whole.weather


def count_places(plan: WalkPlan, log: WalkLog) -> dict[tuple[str, float], tuple[int, int]]:
    """The same of a log that was read: walks that count, in the plan's weather."""
    where = {place.place: (place.section, place.chainage_m) for place in plan.places}
    found: dict[tuple[str, float], tuple[int, int]] = {}
    for walk in log.counted:
        if walk.weather == plan.weather:
            alarms, walks = found.get(where[walk.place], (0, 0))
            found[where[walk.place]] = (alarms + walk.alarm, walks + 1)
    return found
