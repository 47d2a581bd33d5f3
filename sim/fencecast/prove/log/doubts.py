"""What is odd about a log and no reason to refuse it: warnings as sentences.

Tests: tests/prove/log/test_logdoubts.py.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence

from fencecast.errors import name_list, show_value
from fencecast.prove.log.walked import Outside, Walked
from fencecast.prove.walks.planfile import WalkPlan
from fencecast.prove.walks.rehearsed import OF_A_REHEARSAL, REHEARSAL

VOID_SHARE = 0.10
LEAST_ORDERED = 8
# Kendall's tau between the order of the cards and the order walked; below it the balance over the night is gone (judgement, no
# source).
LEAST_TAU = 0.7
ONE_SITTING_S = 3600.0
NIGHT_GAP_S = 12.0 * 3600.0


def is_rehearsed(walk: Walked) -> bool:
    """Its row says that it is simulated, whatever else was noted behind that."""
    return walk.note.startswith(REHEARSAL)


def doubts(plan: WalkPlan, walks: Sequence[Walked], within: Sequence[Outside] = ()) -> Iterator[str]:
    """One sentence each. walks: in order of their crossing; within: alarms logged as outside that lie in the window of a walk."""
    counted = [walk for walk in walks if walk.counts]
    simulated = sum(is_rehearsed(walk) for walk in walks)
    if simulated:
        controls = sum(walk.control for walk in walks)
        also = f", {controls} {'controls' if controls > 1 else 'control'} among them," if controls else ""
        yield (f"{simulated} of {len(walks)} walks{also} are {OF_A_REHEARSAL}, and they prove nothing.")
    void = [walk for walk in walks if walk.void]
    if len(void) > VOID_SHARE * len(walks):
        yield f"{len(void)} of {len(walks)} walks are void: above one in ten, the reasons matter as much as the walks."
    heard = [walk for walk in void if walk.alarm]
    if heard:
        yield f"{_trials(heard)} void and alarms are noted: a walk is made void before the alarms are read."
    tau = _tau([walk.trial for walk in walks])
    if len(walks) >= LEAST_ORDERED and tau < LEAST_TAU:
        yield (
            "The order walked is far from the plan's: drift of the weather or of tired walkers may lie on some places more than "
            "on others."
        )
    names = {walk.walker for walk in counted}
    if names == {""}:
        yield "No walker is named: the result may be of one walker alone."
    elif len(names) == 1 and len(counted) > 1:
        yield f"One walker ({next(iter(names))}) walked everything: the result is of this walker."
    weathers = list(dict.fromkeys(walk.weather for walk in counted))
    if len(weathers) > 1:
        yield f"The weather changed its class between walks ({name_list(weathers)}); the prediction is for one class."
    elif weathers and weathers[0] != plan.weather:
        yield f"All walks were in {show_value(weathers[0])}, and the prediction is for {show_value(plan.weather)}."
    if len(walks) > 1 and (walks[-1].crossed - walks[0].crossed).total_seconds() <= ONE_SITTING_S:
        yield "All walks lie within 60 minutes: one state of air and ground, nothing of how a night goes."
    if len(walks) > 1 and all(walk.crossed.second == 0 and walk.crossed.microsecond == 0 for walk in walks):
        yield "All crossings lie on whole minutes: they were written down, not timed, and delays say nothing."
    yield from _one_date(walks)
    for alarm in within:
        yield f"Row {alarm.row}: the alarm of camera {alarm.mark} lies in the window of a walk: counted with neither."


def _trials(walks: Sequence[Walked]) -> str:
    numbers = ", ".join(str(walk.trial) for walk in walks[:6]) + (" ..." if len(walks) > 6 else "")
    return f"Trials {numbers} are" if len(walks) > 1 else f"Trial {numbers} is"


def _tau(order: Sequence[int]) -> float:
    """Kendall's rank correlation between the numbers and their order; 1 for fewer than two."""
    pairs = len(order) * (len(order) - 1) // 2
    wrong = sum(order[i] > order[j] for i in range(len(order)) for j in range(i + 1, len(order)))
    return 1.0 - 2.0 * wrong / pairs if pairs else 1.0


def _one_date(walks: Sequence[Walked]) -> Iterator[str]:
    """Small hours and late evening of one date, and nothing the evening before: was it one night with the evening's date?"""
    dates = {walk.crossed.date() for walk in walks}
    for first, second in zip(walks, walks[1:], strict=False):
        same = first.crossed.date() == second.crossed.date()
        evening_before = first.crossed.date() - datetime.timedelta(days=1) in dates
        if same and not evening_before and (second.crossed - first.crossed).total_seconds() > NIGHT_GAP_S:
            yield (
                f"Trial {first.trial} crossed at {first.crossed:%H:%M} and trial {second.trial} at {second.crossed:%H:%M} of one "
                "date: if that was one night, walks after midnight have the date of the next day."
            )
