"""log.csv: what was walked and what every camera did, read against the plan; all problems of a file in one report.

An empty cell of a camera is an error: it does not mean no, and a recorder that nobody looked at must not become a row of misses.

Tests: tests/prove/log/test_logread.py, test_logrefusals.py, test_logtable.py, test_logmutations.py.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from pathlib import Path

from fencecast.errors import InputError, Problem, name_list
from fencecast.prove.log.cells import Wrong, nearest_day, read_time, read_whole
from fencecast.prove.log.clocks import MOST_DRIFT_S, Clock, fit_clock
from fencecast.prove.log.doubts import doubts, is_rehearsed
from fencecast.prove.log.rows import NEEDED, OPTIONAL, Raw, Rows, unit_of
from fencecast.prove.log.table import Row, Table, read_table
from fencecast.prove.log.walked import Heard, Outside, Walked, Walker, WalkLog
from fencecast.prove.walks.planfile import WalkPlan

WHAT = "the log of the walks (log.csv, as walk plan writes it)"
CLOCK, ALARM = "clock", "alarm"
# Alarms from 5 s before the crossing to 15 s after it are a walk's: the windows of two walks 20 s apart do not meet.
BEFORE_S, AFTER_S = 5.0, 15.0
APART_S = BEFORE_S + AFTER_S
# A pause this long between two rows ends one watch: nobody counts alarms outside walks in it.
WATCH_ENDS_S = 3.0 * 3600.0


def read_log(path: str | Path, plan: WalkPlan, walkers: Mapping[str, Walker] | None = None) -> WalkLog:
    """A log as walks in order of their crossing.

    walkers: as `read_walkers` gives them; then every walk that counts needs one of them. InputError with all problems, each with
    row, column, value, what is allowed and what to type: of a file, of cells, of cards contradicted, of clocks, of alarms too far
    from their crossing, of crossings too near each other.
    """
    table = read_table(path, (*NEEDED, *plan.marks), [name for name in OPTIONAL if name not in plan.marks], WHAT)
    if table.problems:
        table.close()
    rows = Rows(table, plan)
    raws: list[Raw] = []
    checks: list[tuple[Row, datetime.datetime, float]] = []
    alarms: list[Row] = []
    not_walked: list[int] = []
    seen: dict[int, int] = {}
    for row in table.rows:
        word = row["trial"].casefold()
        if word in (CLOCK, ALARM):
            # Rows that are printed beforehand and that nobody filled in say nothing.
            filled = any(row[column] for column in ("crossed", "recorder", *plan.marks))
            if filled and word == CLOCK:
                checks += _check(rows, row)
            elif filled:
                alarms.append(row)
            continue
        number = read_whole(row["trial"])
        if isinstance(number, Wrong):
            table.refuse(row, "trial", number.allowed, number.instead)
            continue
        if number in seen:
            allowed = f"row {seen[number]} has this number already; a walk beyond the cards gets the next free one"
            table.refuse(row, "trial", allowed, str(rows.last + 1), "stands there twice")
        seen.setdefault(number, row.number)
        if rows.is_empty(row, number):
            not_walked.append(number)
            continue
        raw = rows.walk(row, number)
        if raw is not None:
            raws.append(raw)
    raws.sort(key=lambda raw: (raw.crossed, raw.trial))
    clock = _clock(table, checks, [raw.crossed for raw in raws])
    if len(checks) < 2 and any(":" in row[mark] for row in table.rows for mark in plan.marks):
        allowed = "times of alarms need two rows at least with clock as trial, one at the start, one at the end"
        table.add(0, f"clock checks: {len(checks)} of 2; {allowed}; type yes for a time that nobody needs")
    walks = tuple(_walked(table, raw, clock) for raw in raws)
    outside = [each for row in alarms for each in _outside(rows, row, clock)]
    _apart(table, walks)
    if walkers is not None:
        _known_walkers(table, raws, walkers)
    if not table.problems and not any(walk.counts for walk in walks):
        table.add(
            0, f"no walk counts: {len(walks)} walked, {sum(bool(walk.void) for walk in walks)} void; type the log of a test"
        )
    table.close()
    moments = [*(walk.crossed for walk in walks), *(moment for _, moment, _ in checks), *(each.moment for each in outside)]
    within = sorted(outside, key=lambda each: (each.moment, each.mark))
    own = [each for each in within if not _in_window(each, walks)]
    return WalkLog(
        file=table.file, walks=walks, warnings=tuple(doubts(plan, walks, [each for each in within if each not in own])),
        sha256=table.sha256, clock_s=None if clock is None else (clock.offset_s, clock.drift_s_per_h), outside=tuple(own),
        watch_h=_watch_h(moments, len(walks)), not_walked=tuple(sorted(not_walked)), unit_s=unit_of(raws, plan.marks),
        rehearsal=any(walk.counts and is_rehearsed(walk) for walk in walks),
    )  # fmt: skip


def check_logs(logs: Sequence[WalkLog]) -> None:
    """InputError when two logs hold one trial of one date, or are one file twice."""
    problems: list[str] = []
    seen: dict[tuple[int, datetime.date], tuple[str, int]] = {}
    shas: dict[str, str] = {}
    for log in logs:
        if log.sha256 in shas:
            problems.append(f"{log.file} is the same log as {shas[log.sha256]}: name it once")
            continue
        shas[log.sha256] = log.file
        for walk in log.walks:
            key = (walk.trial, walk.crossed.date())
            if key in seen:
                other, row = seen[key]
                words = f"row {walk.row} trial {walk.trial} of {key[1]} stands in {other} row {row} too: name each log once"
                problems.append(f"{log.file} {words}")
            seen.setdefault(key, (log.file, walk.row))
    if problems:
        raise InputError(problems, "logs" if len(logs) != 1 else logs[0].file)


def _check(rows: Rows, row: Row) -> list[tuple[Row, datetime.datetime, float]]:
    moment = rows.moment(row)
    seconds = read_time(row["recorder"])
    if isinstance(seconds, Wrong):
        rows.table.refuse(row, "recorder", f"the recorder's time at that moment: {seconds.allowed}", seconds.instead)
        return []
    return [] if moment is None else [(row, moment, seconds)]


def _clock(
    table: Table, checks: Sequence[tuple[Row, datetime.datetime, float]], crossings: Sequence[datetime.datetime]
) -> Clock | None:
    """The clock of a log, None without checks; offsets by the shortest way round the day, all the same way as the first."""
    if not checks:
        return None
    offsets: list[tuple[datetime.datetime, float]] = []
    near = datetime.timedelta()
    for _, moment, seconds in sorted(checks, key=lambda each: (each[1], each[2])):
        near = nearest_day(seconds, moment + near) - moment
        offsets.append((moment, near.total_seconds()))
    clock = fit_clock(offsets)
    rows = ", ".join(str(row.number) for row, _, _ in checks)
    if clock.moved_s > MOST_DRIFT_S:
        words = f"the recorder's clock moved by {clock.moved_s:.1f} s between the clock checks (rows {rows})"
        table.add(
            0, f"{words}: at most {MOST_DRIFT_S:g} s are taken; was one of them set, or misread? type yes for times of alarms"
        )
    elif crossings:
        # Checks that lie close together say nothing of a whole night: their line runs away.
        ends = [clock.caller_s(moment) for moment in (min(crossings), max(crossings))]
        if abs(ends[1] - ends[0]) > MOST_DRIFT_S:
            drift = f"their drift would come to {abs(ends[1] - ends[0]):.1f} s over the walks"
            much = f"{drift}, and at most {MOST_DRIFT_S:g} s are taken"
            words = f"the clock checks (rows {rows}) lie too close together: {much}"
            table.add(0, f"{words}; type one before the first walk, one after the last")
    return clock


def _walked(table: Table, raw: Raw, clock: Clock | None) -> Walked:
    heard: dict[str, Heard] = {}
    for mark, cell in raw.cells.items():
        if isinstance(cell, str):
            heard[mark] = cell  # type: ignore[assignment]
            continue
        after = _after_s(raw.crossed, cell, clock)
        heard[mark] = after
        if not raw.void and not -BEFORE_S <= after <= AFTER_S:
            corrected = "" if clock is None else " after correction of the clock"
            allowed = (
                f"an alarm from {BEFORE_S:g} s before the crossing to {AFTER_S:g} s after it, and this one is {abs(after):.1f} s "
                f"{'before' if after < 0 else 'after'}{corrected}; was it another's, or is a clock wrong?"
            )
            table.refuse(raw.row, mark, allowed, "no, and the alarm in a row of its own with alarm as trial")
    return Walked(
        trial=raw.trial, place=raw.place, gait=raw.gait, direction=raw.direction, walker=raw.row["walker"], crossed=raw.crossed,
        heard=heard, kind=raw.kind, claim=raw.claim, control=raw.control, weather=raw.weather, conditions=raw.conditions,
        depth_m=raw.depth_m, void=raw.void, note=raw.row["note"], row=raw.row.number,
    )  # type: ignore[arg-type]  # fmt: skip


def _after_s(crossed: datetime.datetime, recorder_s: float, clock: Clock | None) -> float:
    """Seconds from the crossing to an alarm read off the recorder's clock."""
    offset = 0.0 if clock is None else clock.caller_s(crossed)
    alarm = nearest_day(recorder_s, crossed + datetime.timedelta(seconds=offset))
    return round((alarm - crossed).total_seconds() - offset, 6)


def _outside(rows: Rows, row: Row, clock: Clock | None) -> list[Outside]:
    """Alarms of a row: the recorder's time in `recorder` or in the camera's cell, or the caller's in `crossed`."""
    cells = {mark: cell for mark, cell in rows.heard(row, "no").items() if cell not in ("no", "off")}
    if not cells:
        rows.table.add(
            row.number, f"row {row.number} is an alarm outside walks and no camera is marked: type yes for each that raised it"
        )
        return []
    column = "recorder" if row["recorder"] else "crossed"
    if not row[column]:
        if not all(isinstance(cell, float) for cell in cells.values()):
            rows.table.refuse(row, "recorder", "the recorder's time of the alarm", "22:04:31")
            return []
        column = next(iter(cells))
    moment = rows.moment(row, column)
    if moment is None:
        return []
    offset = 0.0 if clock is None or column == "crossed" else clock.caller_s(moment)
    caller = moment - datetime.timedelta(seconds=offset)
    return [
        Outside(nearest_day(cell - offset, caller) if isinstance(cell, float) else caller, mark, row.number)
        for mark, cell in cells.items()
    ]


def _in_window(alarm: Outside, walks: Sequence[Walked]) -> bool:
    return any(-BEFORE_S <= (alarm.moment - walk.crossed).total_seconds() <= AFTER_S for walk in walks)


def _apart(table: Table, walks: Sequence[Walked]) -> None:
    for first, second in zip(walks, walks[1:], strict=False):
        gap = (second.crossed - first.crossed).total_seconds()
        if gap < APART_S:
            words = f"trials {first.trial} and {second.trial} (rows {first.row} and {second.row}) crossed {gap:g} s apart"
            table.add(
                second.row, f"{words}: at least {APART_S:g} s, or nobody knows whose alarm it was; is a time or a date wrong?"
            )


def _known_walkers(table: Table, raws: Sequence[Raw], walkers: Mapping[str, Walker]) -> None:
    for raw in raws:
        walker = raw.row["walker"]
        if walker not in walkers and not raw.void:
            allowed = f"a walker of the walkers' file: {name_list(walkers)}"
            table.add(
                raw.row.number,
                Problem(f"row {raw.row.number} walker", walker or Problem.MISSING, allowed, next(iter(walkers), "A")),
            )


def _watch_h(moments: Sequence[datetime.datetime], walks: int) -> float:
    """Hours from the first row to the last of every watch, without the windows of walks."""
    ordered = sorted(moments)
    gaps = [(after - before).total_seconds() for before, after in zip(ordered, ordered[1:], strict=False)]
    return max(sum(gap for gap in gaps if gap <= WATCH_ENDS_S) - walks * APART_S, 0.0) / 3600.0
