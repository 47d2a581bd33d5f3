"""log.csv and walkers.csv as they are taken to the site: filled in but for what the walks bring.

Texts of the user's that a spreadsheet would take for a formula get an apostrophe before them. UTF-8, with a byte-order mark only
where letters beyond ASCII ask for it. Tests: tests/cli/test_cli_walk_plan.py.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from fencecast.prove.walks.cards import walkers_of
from fencecast.prove.walks.planfile import MOST_NAMED, Kind, WalkPlan
from fencecast.spreadsheet import cell_of

HEAD = ("trial", "place", "gait", "direction", "walker", "date", "crossed")
TAIL = (
    "weather", "air_c", "humidity", "wind_m_s", "visibility_m", "rain_mm_h", "ground_c", "depth_m", "void", "note",
)  # fmt: skip
RECORDER = "recorder"
CLOCK = "clock"  # stands for the number of a trial in rows that compare clocks
WALKERS = ("walker", "stature_m", "clo", "note")
NO = "no"


def log_file(plan: WalkPlan) -> bytes:
    """The log: a row for a clock check, one for every card, one for a clock check; cells of what is read on the site are empty.

    Walker A walks the first half of the cards, B the second; whoever walks otherwise says so in the cell.

    A camera that has no look at a place (a Pd below 0.001) has `no` there already; whatever may alarm is empty, and so are all
    cameras of a control: nobody has looked yet. An empty cell is an error when the log is read, for empty does not mean no. A
    walk that only follows a miss says so in its note.
    """
    kinds = {kind.kind: kind for kind in plan.kinds}
    walkers = walkers_of(plan)
    clock = [CLOCK, "", "", "", "", "", "", *("" for _ in plan.marks), plan.weather, *("" for _ in TAIL[1:-1]), "", ""]
    rows = [[*HEAD, *plan.marks, *TAIL, RECORDER], _noted(clock, "both clocks, before the first walk")]
    for trial in plan.trials:
        kind = kinds[trial.kind]
        heard = [NO if not trial.control and blind(kind, mark) else "" for mark in plan.marks]
        note = "control: no alarm expected" if trial.control else "only after a miss" if trial.rung > 1 else ""
        way = [kind.place, kind.gait, kind.direction, walkers[trial.trial], "", ""]
        row = [str(trial.trial), *way, *heard, plan.weather, *("" for _ in TAIL[1:-1])]
        rows.append([*row, note, ""])
    rows.append(_noted(clock, "both clocks, after the last walk"))
    return _bytes(rows)


def blind(kind: Kind, mark: str) -> bool:
    """Whether a camera has no look at walks of a kind. Where only the best cameras are named nothing is known of the others."""
    return mark not in kind.pd_camera and len(kind.pd_camera) < MOST_NAMED


def walkers_file() -> bytes:
    """The walkers: a row for each of two walkers, who swap once; their stature is filled in on the site."""
    return _bytes([list(WALKERS), ["A", "", "", ""], ["B", "", "", ""]])


def _noted(row: Sequence[str], note: str) -> list[str]:
    return [*row[:-2], note, row[-1]]


def _bytes(rows: Iterable[Sequence[str]]) -> bytes:
    out = io.StringIO(newline="")
    csv.writer(out, lineterminator="\r\n").writerows([cell_of(cell) for cell in row] for row in rows)
    text = out.getvalue()
    return text.encode("utf-8" if text.isascii() else "utf-8-sig")
