"""marks.csv: where every mark lies, where it must appear, and empty cells for what is read on the finished site; file names.

One row a mark; the first line names the columns. Text of the user's that a spreadsheet would take for a formula gets an
apostrophe before it (`spreadsheet.cell_of`), which `text_of` there takes away again. UTF-8, with a byte-order mark only where
letters beyond ASCII ask for it.

Tests: tests/prove/test_marksfile.py.
"""

from __future__ import annotations

import csv
import io
import unicodedata
from collections.abc import Callable, Iterable

from fencecast.prove.aim import Aim
from fencecast.prove.marks import Mark
from fencecast.spreadsheet import cell_of

COLUMNS = (
    "camera", "mark", "x_m", "y_m", "z_m", "expected_column", "expected_row", "column", "row", "height_m", "note",
)  # fmt: skip


def marks_file(aim: Aim, note: Callable[[Mark], str]) -> bytes:
    """The file as bytes. note: words for the place of a mark, for who reads the file beside the fence.

    column, row and height_m (by tape, once for each camera) are left empty: they are read on the site. Cameras without marks have
    no row.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for camera in aim.cameras:
        for mark in camera.choice.marks:
            place = (f"{mark.x_m:.3f}", f"{mark.y_m:.3f}", "0")
            expected = (f"{mark.column:.2f}", f"{mark.row:.2f}")
            writer.writerow([cell_of(camera.mount.mark), mark.number, *place, *expected, "", "", "", cell_of(note(mark))])
    text = out.getvalue()
    return text.encode("utf-8" if text.isascii() else "utf-8-sig")


def sheet_names(marks: Iterable[str]) -> dict[str, str]:
    """A file name without its ending for the sheet of every camera: `aim-T1`.

    Letters and digits of any script, `-`, `_` and `.` within stay, everything else is `-`; names that a file system may take for
    one (capitals) get a number.
    """
    names: dict[str, str] = {}
    taken: set[str] = set()
    for mark in marks:
        plain = unicodedata.normalize("NFC", mark)
        plain = "".join(sign if sign.isalnum() or sign in "-_." else "-" for sign in plain).strip("-.") or "camera"
        name, number = f"aim-{plain}", 1
        while name.casefold() in taken:
            number += 1
            name = f"aim-{plain}-{number}"
        taken.add(name.casefold())
        names[mark] = name
    return names
