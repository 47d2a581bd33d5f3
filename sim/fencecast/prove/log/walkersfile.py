"""walkers.csv: who walked, how tall, in what clothes. N of an upright body goes with its stature.

Tests: tests/prove/log/test_walkersfile.py.
"""

from __future__ import annotations

from pathlib import Path

from fencecast.prove.log.cells import Wrong, read_number
from fencecast.prove.log.table import read_table
from fencecast.prove.log.walked import Walker

WHAT = "the list of walkers (walkers.csv, as walk plan writes it)"
STATURE_M = (0.5, 2.5)
CLO = (0.0, 8.0)


def read_walkers(path: str | Path) -> dict[str, Walker]:
    """Walkers by name; InputError with all problems. Stature [m], clothing insulation [clo], None where the cell is empty.

    A row with a name and neither a stature nor a note is one that nobody filled in, and is left out.
    """
    table = read_table(path, ("walker", "stature_m"), ("clo", "note"), WHAT)
    if table.problems:
        table.close()
    walkers: dict[str, Walker] = {}
    rows: dict[str, int] = {}
    for row in table.rows:
        name = row["walker"]
        if not (row["stature_m"] or row["clo"] or row["note"]):
            continue
        stature = read_number(row["stature_m"], *STATURE_M, "m", "1.80")
        clo = read_number(row["clo"], *CLO, "clo", "1.5") if row["clo"] else None
        if not name:
            table.refuse(row, "walker", "the name or letter that the log has for this walker", "A")
        if name in rows:
            table.refuse(row, "walker", f"row {rows[name]} has this walker already", "B", "stands there twice")
        rows.setdefault(name, row.number)
        if isinstance(stature, Wrong):
            table.refuse(row, "stature_m", stature.allowed, stature.instead)
        if isinstance(clo, Wrong):
            table.refuse(row, "clo", clo.allowed, clo.instead)
        if not isinstance(stature, Wrong) and not isinstance(clo, Wrong):
            walkers[name] = Walker(name, stature, clo, row["note"])
    if not walkers and not table.problems:
        table.add(0, "has no walker: a row for each, with a name and the stature in metres; type for instance A,1.80,1.5,")
    table.close()
    return walkers
