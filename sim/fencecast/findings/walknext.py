"""What `fencecast walk next` and `fencecast walk again` say in the terminal and as JSON.

Tests: tests/findings/test_walkfitwords.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from fencecast import __version__
from fencecast.cautions import CAUTION
from fencecast.findings.blocks import (
    BAD,
    CAUTION_ROLE,
    FINDING,
    LEFT,
    NOTE,
    RIGHT,
    TITLE,
    Block,
    Heading,
    Line,
    Table,
    written_lines,
)
from fencecast.findings.rehearsal import NOBODY
from fencecast.findings.walkfitwords import n50_text, percent_text, prior_notes
from fencecast.findings.words import first_upper, listed, pd_text, plural
from fencecast.prove.fit.again import LIMIT, WalkAgain
from fencecast.prove.fit.next import NextWalks

SCHEMA = 1


def next_blocks(found: NextWalks) -> list[Block]:
    """Where to walk, and what it is expected to gain."""
    count = plural(len(found.walks), "walk")
    title = f"{found.question.plan.title}: the next {count}, after {found.question.walks}"
    gain = (
        f"N50 is {n50_text(found.median)} within {percent_text(found.sd_ln_n50)} now (standard deviation), and within "
        f"{percent_text(found.after_ln_n50)} at best after {'it' if len(found.walks) == 1 else 'them'}; the correlation within "
        f"{found.sd_r:.2f}, then {found.after_r:.2f}"
    )
    rows = [
        [walk.place, walk.gait.replace("_", " "), walk.direction, pd_words(walk.pd_camera), percent_text(walk.sd_ln_n50)]
        for walk in found.walks
    ]
    columns = [("place", LEFT), ("gait", LEFT), ("direction", LEFT), ("expected Pd by camera", LEFT), ("N50 within", RIGHT)]
    return [
        Line(title, TITLE),
        *([Line(NOBODY, BAD)] if found.question.rehearsal else []),
        Line(f"{gain}.", FINDING),
        *(Line(text) for text in prior_notes(found.question.plan, found.question.prior)),
        Table.of(columns, rows),
        Line("In this order or any other. Give them the next free trial numbers, log them, and ask again.", NOTE),
        Line(
            "At best: a place's own difference, which all walks there share, is not in it, nor are walkers. Walks chosen so are "
            "for N50; claims need the plan's own walks.",
            NOTE,
        ),
        Line(CAUTION, CAUTION_ROLE, apart=True),
    ]


def pd_words(pd_camera: dict[str, float]) -> str:
    """`W 0.62, E 0.97`."""
    return ", ".join(f"{mark} {pd_text(pd)}" for mark, pd in pd_camera.items())


def next_object(found: NextWalks) -> dict[str, Any]:
    """The JSON object of `walk next --json`."""
    return {
        "schema": SCHEMA,
        "title": found.question.plan.title,
        "version": __version__,
        "plan_sha256": found.question.plan_sha256,
        "log_sha256": [log.sha256 for log in found.question.logs],
        "warnings": prior_notes(found.question.plan, found.question.prior),
        "rehearsal": found.question.rehearsal,
        "walked": found.question.walks,
        "cycles_50": found.median,
        "now": {"sd_ln_n50": found.sd_ln_n50, "sd_r": found.sd_r},
        "after": {"sd_ln_n50": found.after_ln_n50, "sd_r": found.after_r},
        "walks": [
            {
                "kind": walk.kind,
                "place": walk.place,
                "gait": walk.gait,
                "direction": walk.direction,
                "pd_camera": walk.pd_camera,
                "sd_ln_n50": walk.sd_ln_n50,
            }
            for walk in found.walks
        ],
        "caution": CAUTION,
    }


def again_title(found: WalkAgain) -> str:
    """Whether N50 has moved, and by how much a rise would have been seen."""
    moved = found.moved
    if moved is None:
        return f"{first_upper(plural(found.total, 'walk'))} for a re-test; one log, nothing to hold it against yet"
    last = "the last log" if moved.last == 1 else f"the last {plural(moved.last, 'log')}"
    low, high = moved.ends
    if moved.alarm:
        return f"N50 has risen by {100.0 * moved.change:.0f} % with {last} ({100.0 * low:.0f} to {100.0 * high:.0f} %)"
    if moved.better:
        ends = f"{-100.0 * high:.0f} to {-100.0 * low:.0f} %"
        return f"N50 has fallen by {-100.0 * moved.change:.0f} % with {last} ({ends}): cameras see better"
    return f"N50 has not moved by more than chance since {found.dated[0].date}"


def again_sentences(found: WalkAgain) -> list[str]:
    """What was compared, and what a short list cannot see."""
    lines = []
    moved = found.moved
    if moved is not None:
        low, high = moved.ends
        each = listed([f"{z:+.1f}".replace("-", "−") for z in moved.z])
        which = "largest" if moved.alarm else "furthest from 0"
        lines.append(
            f"Last logs against all earlier ones (1 to {len(moved.z)} of them): z = {each}; an alarm is above {LIMIT:g}. The "
            f"{which} stands for a change of N50 by {signed_percent(moved.change)} ({signed_percent(low)} to "
            f"{signed_percent(high)})."
        )
        if max(moved.people) > 0.0:
            lines.append(
                f"People who walked on one side only differ too: {percent_text(max(moved.people))} of N50 at most is allowed for "
                "(standard deviation; judgement). The same people in the same shares would see smaller changes."
            )
        if moved.better:
            lines.append(
                "Cameras see better than before: no alarm, but find out why. Until then logs before and after are not fitted "
                "together."
            )
        if moved.alarm:
            lines.append("Fit the last logs alone, and look for what changed: lens, mast, software, plants, the walkers.")
        elif not moved.better:
            lines.append("Logs that agree are fitted together: name them all to fencecast walk fit.")
    seen = ", ".join(f"{100.0 * rise:.0f} % in {percent_text(chance)}" for rise, chance in found.chances)
    lines.append(
        f"What the walks that are there to see a change would see at once of a rise of N50: {seen} of re-tests, "
        "walked by as many other people. Small changes need many years or many walks."
    )
    lines.append(
        "Due every year (common practice, no source), once in the opposite season, and after any change of software, lens, mast "
        "or "
        "the stock along the fence."
    )
    if "software" in found.changed:
        lines.append("New software is a new N50: make the whole plan anew, the short list is too short for it.")
    return lines


def signed_percent(part: float) -> str:
    """`+12 %`, `−3 %`."""
    return f"{100.0 * part:+.0f} %".replace("-", "−")


def again_blocks(found: WalkAgain, files: Sequence[str] = (), left: Sequence[str] = ()) -> list[Block]:
    """The list, the logs by date, what has moved."""
    rows = [[walk.place, walk.gait.replace("_", " "), walk.direction, str(walk.times), walk.why] for walk in found.walks]
    columns = [("place", LEFT), ("gait", LEFT), ("direction", LEFT), ("times", RIGHT), ("why", LEFT)]
    alarm = found.moved is not None and found.moved.alarm
    blocks: list[Block] = [
        Line(f"{found.question.plan.title}: re-test of {plural(found.total, 'walk')}", TITLE),
        *([Line(NOBODY, BAD)] if found.question.rehearsal else []),
        Line(f"{again_title(found)}.", BAD if alarm else FINDING),
        Table.of(columns, rows),
        Heading("By date"),
        _dates_table(found),
        *(Line(text) for text in [*again_sentences(found), *prior_notes(found.question.plan, found.question.prior)]),
    ]
    if files:
        blocks += written_lines(files, left)
    return [*blocks, Line(CAUTION, CAUTION_ROLE, apart=True)]


def _dates_table(found: WalkAgain) -> Table:
    rows = []
    for each in found.dated:
        delay = "" if each.delay is None else f"{each.delay.median:.1f} s"
        outside = ", ".join(f"{mark} {rate:.1f}" for mark, rate in each.outside_per_hour.items() if rate > 0.0)
        n50 = f"{n50_text(each.median)} ({n50_text(each.low)} to {n50_text(each.high)})"
        rows.append([each.date, str(each.walks), n50, delay, outside])
    columns = [("date", LEFT), ("walks", RIGHT), ("N50", RIGHT), ("delay", RIGHT), ("alarms outside walks an hour", LEFT)]
    return Table.of(columns, rows)


def again_object(found: WalkAgain, files: Sequence[str] = ()) -> dict[str, Any]:
    """The JSON object of `walk again --json`, and again.json (without `files`)."""
    moved = found.moved
    made = {
        "schema": SCHEMA,
        "title": found.question.plan.title,
        "version": __version__,
        "plan_sha256": found.question.plan_sha256,
        "log_sha256": [log.sha256 for log in found.question.logs],
        "warnings": prior_notes(found.question.plan, found.question.prior),
        "rehearsal": found.question.rehearsal,
        "cycles_50": found.median,
        "walks": [
            {
                "kind": walk.kind,
                "place": walk.place,
                "gait": walk.gait,
                "direction": walk.direction,
                "times": walk.times,
                "why": walk.why,
            }
            for walk in found.walks
        ],
        "dates": [
            {
                "log": each.file,
                "date": each.date,
                "walks": each.walks,
                "cycles_50": {"median": each.median, "low": each.low, "high": each.high, "sd_ln": each.sd_ln},
                "delay_s": None if each.delay is None else each.delay.median,
                "alarms_outside_per_hour": each.outside_per_hour,
            }
            for each in found.dated
        ],
        "moved": None
        if moved is None
        else {
            "z": list(moved.z),
            "largest": moved.largest,
            "lowest": moved.lowest,
            "limit": LIMIT,
            "alarm": moved.alarm,
            "better": moved.better,
            "logs": moved.last,
            "change": moved.change,
            "low": moved.ends[0],
            "high": moved.ends[1],
            "people_sd_ln": list(moved.people),
        },
        "chance_to_see": [{"rise": rise, "chance": chance} for rise, chance in found.chances],
        "changed": list(found.changed),
        "caution": CAUTION,
    }
    return made | ({"files": list(files)} if files else {})
