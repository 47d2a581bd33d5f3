"""Whatever happens to a log, reading it ends in walks or in a report, never in a traceback."""

from __future__ import annotations

import tempfile
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from fencecast.errors import InputError
from fencecast.prove.log.read import read_log
from fencecast.prove.score.score import score_log
from prove.invented_walks import invented_plan
from prove.walk_logs import log_rows, log_text

PLAN = invented_plan(rounds=1)
ROWS = log_rows(PLAN)
CLOCKS = [
    {**dict.fromkeys(ROWS[0], ""), "trial": "clock", "date": "2026-11-29", "crossed": t, "recorder": t}
    for t in ("21:00:00", "23:59:59")
]
ALARM = {**dict.fromkeys(ROWS[0], ""), "trial": "alarm", "date": "2026-11-29", "recorder": "23:10:00", "W": "yes"}
GOOD = [*ROWS, *CLOCKS, ALARM]
CELLS = st.sampled_from([
    "", "no", "yes", "off", "22:00:05", "00:00:00", "24:00:00", "22:04", "10:04:31 PM", "0.5", "-1", "1e9", "9" * 400,
    "2026-11-29", "31/12/2026", "12.11.2026", "9999-12-31", "0001-01-01", "clock", "alarm", "front 9", "FRONT 9", "walk", "out",
    "animal", "'=1", '"', "\u0663", "\u00b2", "nan", "inf", "\ufffd", "13", "1", "clear night",
]) | st.text(max_size=8)  # fmt: skip
CHANGES = st.lists(st.tuples(st.integers(0, len(GOOD) - 1), st.sampled_from(list(ROWS[0])), CELLS), max_size=4)
SPOILS = st.lists(st.tuples(st.integers(0, 4000), st.binary(max_size=3)), max_size=2)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(CHANGES, SPOILS, st.sampled_from([",", ";", "\t"]), st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "latin-1"]))
def test_a_mutated_log_ends_in_walks_or_in_a_report(changes, spoils, separator, encoding):
    rows = [dict(row) for row in GOOD]
    for row, column, cell in changes:
        rows[row][column] = cell
    data = log_text(rows, separator).encode(encoding, "replace")
    for at, more in spoils:
        data = data[:at] + more + data[at:]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.csv"
        path.write_bytes(data)
        try:
            log = read_log(path, PLAN)
        except InputError as error:
            assert error.problems and str(path) in str(error)
            return
    assert log.counted
    score_log(PLAN, "0" * 64, log)
