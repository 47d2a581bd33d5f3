"""marks.csv as it comes back: every form that a spreadsheet saves, and every refusal word by word."""

import pytest

import fencecast as fc
from fencecast.errors import InputError, UsageError
from fencecast.prove.aim import aim
from fencecast.prove.built.designview import at_the_edge, not_to_be_seen
from fencecast.prove.built.marksread import parse_picture, read_marks
from fencecast.prove.marksfile import marks_file
from prove.aimyards import hostile
from prove.built.builtyards import HEADS, rows_of, site, written


def report_of(folder, rows, picture=None, the_site=None, **how) -> str:
    path = written(folder, *rows, **how)
    with pytest.raises(InputError) as refused:
        read_marks(path, the_site or site("K1", "K2"), picture)
    return str(refused.value).removeprefix(f"{path}: ")


def with_cells(rows, line: int, **cells: str):
    """Rows with other cells in one line of the file; the first row is line 2."""
    heads = HEADS.split(",")
    changed = [list(row) for row in rows]
    for name, text in cells.items():
        changed[line - 2][heads.index(name)] = text
    return changed


def test_what_a_spreadsheet_saves_reads_the_same(tmp_path):
    """Comma, semicolon and tab, decimal commas, a byte-order mark, blank lines at the end."""
    rows = rows_of("K1")
    plain = read_marks(written(tmp_path, *rows), site("K1")).cameras
    continental = [[cell.replace(".", ",") for cell in row] for row in rows]
    assert read_marks(written(tmp_path, *continental, comma=";"), site("K1")).cameras == plain
    assert read_marks(written(tmp_path, *continental, comma="\t"), site("K1")).cameras == plain
    path = tmp_path / "bom.csv"
    path.write_bytes(b"\xef\xbb\xbf" + (tmp_path / "marks.csv").read_bytes() + b"\r\n\t\t\r\n")
    assert read_marks(path, site("K1")).cameras == plain


def test_a_whole_number_is_the_middle_of_its_pixel(tmp_path):
    """Catches: half a pixel lost or added; columns in any order, without those that nobody needs."""
    rows = [
        ["K1", "1", "3", "9", "52", "91", "4"],
        ["K1", "2", "9", "9", "52.5", "91.25", ""],
        ["K1", "3", "6", "15", "0", "1", ""],
    ]
    found = read_marks(written(tmp_path, *rows, heads="camera,mark,x_m,y_m,column,row,height_m"), site("K1")).cameras[0]
    assert [(each.column, each.row) for each in found.marks] == [(52.5, 91.5), (52.5, 91.25), (0.5, 1.5)]
    assert found.marks[0].z_m == 0.0 and found.tape_m == 4.0


def test_the_file_of_the_aim_sheets_comes_back(tmp_path):
    """Marks of cameras that a spreadsheet would take for formulas, filled in with what was expected."""
    the_site = hostile()
    sheets = aim(the_site, marks=3)
    lines = marks_file(sheets, lambda mark: "a, note").decode("utf-8-sig").splitlines()
    import csv

    rows = list(csv.reader(lines))
    heads = rows[0]
    filled = [heads]
    for row in rows[1:]:
        named = dict(zip(heads, row))
        named |= {"column": named["expected_column"], "row": named["expected_row"], "height_m": "4.0"}
        filled.append([named[head] for head in heads])
    path = tmp_path / "marks.csv"
    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows(filled)
    marks = {each.mount.mark for each in sheets.cameras if len(each.choice.marks) == 3}
    assert {each.mark for each in read_marks(path, the_site).cameras} == marks


def test_marks_and_cameras_without_a_reading(tmp_path):
    """A mark that was not read is left out and named; a camera without any stays as designed."""
    rows = with_cells(rows_of("K1") + rows_of("K2"), 4, column="", row="")
    rows = [row if row[0] == "K1" else [*row[:7], "", "", "", ""] for row in rows]
    found = read_marks(written(tmp_path, *rows), site("K1", "K2"))
    assert [each.mark for each in found.cameras] == ["K1"] and found.not_read == ("K2",)
    assert found.cameras[0].not_read == ("3",) and [each.name for each in found.cameras[0].marks] == ["1", "2", "4"]


ROWS = rows_of("K1")
CASES = {
    "unknown camera": (
        with_cells(ROWS, 3, camera="K22"),
        'line 3 camera "K22" is not known; did you mean "K2"?',
    ),
    "no reading at all": (
        [[*row[:7], "", "", "", ""] for row in ROWS],
        "no mark has been read: column and row are empty in every row; fill them in beside the live picture",
    ),
    "two marks": (
        ROWS[:2],
        'camera "K1" has 2 marks read: 3 are needed, 4 tell a misread mark; or leave all of its rows empty',
    ),
    "outside the picture": (
        with_cells(ROWS, 2, row="-1"),
        "line 2 row = -1.0 is not allowed: pixels from 0 to 120: the picture has 160 x 120",
    ),
    "a larger picture": (
        with_cells(ROWS, 2, column="411"),
        "line 2 column = 411.0 is not allowed: pixels from 0 to 160: the picture has 160 x 120; read in a picture of another "
        "size? type --picture 640x480",
    ),
    "a mark twice": (
        with_cells(ROWS, 4, mark="1"),
        'line 4 mark "1" of camera "K1" is there twice, first in line 2; number its marks 1, 2, 3',
    ),
    "half a metre apart": (
        with_cells(ROWS, 3, x_m="1.7", y_m="9.5") and with_cells(with_cells(ROWS, 2, x_m="2", y_m="9"), 3, x_m="2.3", y_m="9.4"),
        'line 3: marks "1" and "2" of camera "K1" lie 0.50 m apart; 1 m is the least: was one place typed twice?',
    ),
    "no tape": (
        with_cells(ROWS, 2, height_m=""),
        'line 2 height_m of camera "K1" is missing: its lens above the ground by tape, in metres, once for each camera; type for '
        "instance 4.02",
    ),
    "a tape in feet": (
        with_cells(ROWS, 2, height_m="400"),
        "line 2 height_m = 400.0 is not allowed: metres by tape from 1 to 60; type for instance 4.02",
    ),
    "two tapes": (
        with_cells(ROWS, 4, height_m="4.1"),
        'camera "K1" has two heights, 4 (line 2) and 4.1 (line 4); type it once for each camera',
    ),
    "no number": (
        with_cells(ROWS, 2, column="left"),
        'line 2 column = "left" is not allowed: pixels from the left, a number such as 52; type for instance 52',
    ),
    "nan": (
        with_cells(ROWS, 2, x_m="nan"),
        'line 2 x_m = "nan" is not allowed: metres, a number such as 12.50; type for instance 12.50',
    ),
    "no place": (
        with_cells(ROWS, 2, x_m=""),
        "line 2 x_m is missing: the place of the mark in the site's metres; type for instance 12.50",
    ),
    "half a reading": (
        with_cells(ROWS, 2, row=""),
        "line 2 row is empty and column is not: read both, or leave both empty for a mark that was not read",
    ),
    "decimal commas between commas": (
        [[*ROWS[0][:8], "91,5", *ROWS[0][9:]], *ROWS[1:]],
        "line 2: 12 fields under 11 columns; a text with a comma in it belongs in quotes; type numbers with a point, 6.5, "
        "not 6,5",
    ),
    "nothing below the columns": ([], "there is no row under the names of the columns; fencecast aim writes them"),
}


@pytest.mark.parametrize("name", CASES)
def test_refusals(tmp_path, name):
    """Each by itself, whole. Catches: a check that no longer looks, two complaints about one mistake."""
    rows, expected = CASES[name]
    assert report_of(tmp_path, rows) == expected


def test_columns_that_are_not_there(tmp_path):
    assert report_of(tmp_path, ROWS, heads=HEADS.replace("column,row,height_m", "column,rows,height_m")) == (
        'line 1: column "rows" is not known: did you mean row?'
    )
    assert report_of(tmp_path, [row[:-2] for row in ROWS], heads=HEADS.removesuffix(",height_m,note")) == (
        'line 1: column "height_m" is missing; the columns are camera, mark, x_m, y_m, z_m, expected_column, expected_row, '
        "column, row, height_m, note"
    )


def test_all_problems_in_one_report(tmp_path):
    """Two cameras, four mistakes. Catches: a user who mends one at a time."""
    rows = with_cells(ROWS + rows_of("K2"), 2, column="500")
    rows = with_cells(with_cells(with_cells(rows, 4, mark="1"), 6, height_m=""), 8, camera="X")
    report = report_of(tmp_path, rows)
    assert report.startswith("4 problems\n  1. ") and report.count("\n") == 4
    for word in ("line 8 camera", "line 2 column = 500.0", "line 4 mark", "line 6 height_m"):
        assert word in report


def test_a_picture_of_another_size(tmp_path):
    """Readings of a picture of 640 x 480 are not held against the sensor's 160 x 120, and those beyond it are refused."""
    rows = with_cells(ROWS, 2, column="411", row="470")
    assert read_marks(written(tmp_path, *rows), site("K1"), (640, 480)).cameras[0].marks[0].column == 411.5
    assert report_of(tmp_path, with_cells(ROWS, 2, column="700"), picture=(640, 480)) == (
        "line 2 column = 700.0 is not allowed: pixels from 0 to 640: the picture has 640 x 480"
    )
    assert parse_picture("640x480") == parse_picture(" 640 X 480 ") == (640, 480) and parse_picture(None) is None
    for wrong in ("640", "640x", "0x480", "640x480x3", (640,)):
        with pytest.raises(UsageError, match="columns x rows, whole numbers from 4 to 20000; type for instance 640x480"):
            parse_picture(wrong)


def test_files_that_cannot_be_read(tmp_path):
    for path, said in (
        (tmp_path / "none.csv", "there is no such file; fencecast aim writes one"),
        (tmp_path, "this is a folder; name the file of marks in it, such as marks.csv"),
    ):
        with pytest.raises(InputError, match=said):
            read_marks(path, site("K1"))
    (tmp_path / "latin.csv").write_bytes(HEADS.encode() + b"\r\nK\xe9,1\r\n")
    with pytest.raises(InputError, match="line 2: byte 0xe9 is not UTF-8 text; save the file as UTF-8"):
        read_marks(tmp_path / "latin.csv", site("K1"))
    (tmp_path / "empty.csv").write_bytes(b"")
    with pytest.raises(InputError, match="the file is empty: its first line names the columns camera, mark"):
        read_marks(tmp_path / "empty.csv", site("K1"))


def test_marks_that_the_camera_cannot_see(tmp_path):
    """A place typed with the wrong sign lies behind the camera; one behind a hut, in its shadow."""
    hut = [{"name": "hut", "footprint_m": [[7.0, 14.0], [10.0, 14.0], [10.0, 17.0], [7.0, 17.0]], "height_m": 3.0}]
    behind = with_cells(ROWS, 4, x_m="-10", y_m="-18")
    read = read_marks(written(tmp_path, *behind), site("K1")).cameras[0]
    found = not_to_be_seen(site("K1"), read)
    assert len(found) == 1
    assert found[0].startswith('line 4: mark "3" of camera "K1" lies behind the camera, ')
    assert found[0].endswith("as the site file aims it: look at its x_m and y_m")
    shaded = with_cells(ROWS, 4, x_m="11.5", y_m="21.5")
    read = read_marks(written(tmp_path, *shaded), site("K1")).cameras[0]
    assert not_to_be_seen(site("K1", obstacle=hut), read) == [
        'line 4: mark "3" of camera "K1" lies behind an obstacle, seen from the camera: look at its x_m and y_m'
    ]
    with pytest.raises(InputError, match="lies behind an obstacle"):
        fc.built(site("K1", obstacle=hut), written(tmp_path, *shaded))


def test_marks_at_the_edge_are_a_warning(tmp_path):
    """Catches: an edge taken in pixels where degrees are meant, a warning for every mark of a long lens."""
    middle = rows_of("K1", across_ahead=((-3.0, 8.0), (3.0, 8.0), (-6.0, 22.0), (6.0, 22.0)))
    calm = read_marks(written(tmp_path, *middle), site("K1")).cameras[0]
    assert at_the_edge(site("K1"), calm) == []
    edge = with_cells(middle, 4, x_m="-3.0", y_m="22.0")
    read = read_marks(written(tmp_path, *edge), site("K1")).cameras[0]
    assert at_the_edge(site("K1"), read) == [
        'camera "K1": mark 3 should be at the edge of its picture, or beyond it, as the site file aims it'
    ]
