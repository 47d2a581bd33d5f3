"""marks.csv: columns, numbers, empty cells, and texts that a spreadsheet must not compute; names of sheets."""

import csv
import io

import pytest

import fencecast as fc
from fencecast.findings.aimwords import mark_place
from fencecast.prove.marksfile import COLUMNS, marks_file, sheet_names
from fencecast.spreadsheet import cell_of, text_of
from prove.aimyards import camera, hostile, yard


def rows_of(site, **how):
    sheets = fc.aim(site, **how)
    content = marks_file(sheets, lambda mark: mark_place(site, mark))
    return sheets, content, list(csv.DictReader(io.StringIO(content.decode("utf-8-sig"), newline="")))


def test_columns_are_those_that_are_read_back():
    """Catches: a renamed column, a note that is no text, a cell that should be empty."""
    sheets, content, rows = rows_of(yard([camera("K1"), camera("K2", aim_m=[24.0, 3.0])]))
    assert content.split(b"\r\n")[0].decode() == ",".join(COLUMNS)
    assert COLUMNS == (
        "camera",
        "mark",
        "x_m",
        "y_m",
        "z_m",
        "expected_column",
        "expected_row",
        "column",
        "row",
        "height_m",
        "note",
    )
    assert [(row["camera"], row["mark"]) for row in rows] == [(mark, str(n)) for mark in ("K1", "K2") for n in (1, 2, 3, 4)]
    marks = [mark for each in sheets.cameras for mark in each.choice.marks]
    for row, mark in zip(rows, marks):
        assert (float(row["x_m"]), float(row["y_m"]), row["z_m"]) == (mark.x_m, mark.y_m, "0")
        assert (float(row["expected_column"]), float(row["expected_row"])) == (
            pytest.approx(mark.column, abs=0.0051),
            pytest.approx(mark.row, abs=0.0051),
        )
        assert (row["column"], row["row"], row["height_m"]) == ("", "", "")
        assert row["note"] == f"A {mark.chainage_m:.2f} m, {mark.inside_m:.2f} m inside"


def test_cameras_without_marks_have_no_row():
    _, content, rows = rows_of(yard([camera(bearing_deg=90.0, depression_deg=-15.0)]))
    assert rows == [] and content.count(b"\n") == 1


def test_no_text_becomes_a_formula():
    """Marks of cameras are the user's: the first seven begin with what a spreadsheet computes."""
    sheets, _, rows = rows_of(hostile(), marks=3)
    cells = {row["camera"] for row in rows}
    assert cells and all(cell[0] not in "=+-@" for cell in cells)
    assert {text_of(cell) for cell in cells} == {each.mount.mark for each in sheets.cameras if each.choice.marks}


@pytest.mark.parametrize(
    "text", ["=1+1", "+x", "-x", "@x", "'=1", "''-", "plain", "it's", "'tis", "", "T1", 'a"b', "a,b", "\t=1"]
)
def test_a_cell_is_the_text_again(text):
    """Catches: an apostrophe that stays, or one of the user's that is lost."""
    assert text_of(cell_of(text)) == text
    assert not cell_of(text).lstrip("'").startswith("=") or cell_of(text).startswith("'")


def test_letters_beyond_ascii_open_in_a_spreadsheet():
    """A byte-order mark only where it is needed."""
    _, plain, _ = rows_of(yard([camera("K1")]))
    _, marked, rows = rows_of(yard([camera("Tør")]))
    assert not plain.startswith(b"\xef\xbb\xbf") and marked.startswith(b"\xef\xbb\xbf") and rows[0]["camera"] == "Tør"


def test_sheets_have_names_of_their_own():
    """Catches: a mark that leaves the folder, two sheets in one file."""
    names = sheet_names(["T1", "t1", "../x", "a/b", "a:b", "...", "門 1", "a b", "A-B", "K" * 24, "x\\y"])
    assert names["T1"] == "aim-T1" and names["t1"] == "aim-t1-2" and names["..."] == "aim-camera" and names["門 1"] == "aim-門-1"
    assert len({name.casefold() for name in names.values()}) == len(names)
    assert not any(sign in name for name in names.values() for sign in '/\\:*?"<>| ')
    assert all(name.startswith("aim-") and ".." not in name for name in names.values())
