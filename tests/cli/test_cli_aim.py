"""`fencecast aim`: a folder of sheets that appears whole, what is printed, what is refused."""

import csv
import json
import os

import pytest
from command_line import CAUTION, TINY, flat, typed
from pypdf import PdfReader

import fencecast as fc

NAMES = ["aim-C1.pdf", "aim-C1.png", "manifest.json", "marks.csv"]
SECOND = TINY.replace("[[rule]]", '[[camera]]\nmark = "=C/1"\nposition_m = [26.0, 2.0]\nheight_m = 4.0\naim_m = [6.0, 0.5]\n'
                      'sensor = "core"\nlens = "long"\n\n[[rule]]', 1)  # fmt: skip


def test_a_folder_of_sheets(yard):
    """Catches: a page too many, a file that is not announced, a table that is lost."""
    ended = typed("aim", "tiny.toml", "--for", "North Works", "--issue", "2")
    assert ended.code == 0 and sorted(os.listdir("tiny-aim")) == NAMES
    reader = PdfReader("tiny-aim/aim-C1.pdf")
    page = reader.pages[0]
    assert len(reader.pages) == 1 and [round(float(edge) / 72 * 25.4) for edge in page.mediabox[2:]] == [210, 297]
    text = page.extract_text()
    assert "for North Works" in text and "issue 2, as designed" in text and "Aim sheet C1" in text
    assert "Tiny yard" in ended.out and "marks.csv" in flat(ended.out) and CAUTION in flat(ended.out)
    rows = list(csv.DictReader((yard / "tiny-aim" / "marks.csv").read_text(encoding="utf-8").splitlines()))
    assert [row["camera"] for row in rows] == ["C1"] * len(rows) and len(rows) >= 3


def test_json_is_one_object(yard):
    ended = typed("aim", "tiny.toml", "--json", "-o", "sheets")
    said = json.loads(ended.out)
    assert ended.code == 0 and [os.path.basename(file) for file in said["files"]] == [
        "aim-C1.pdf",
        "aim-C1.png",
        "marks.csv",
        "manifest.json",
    ]
    site = fc.load_site("tiny.toml")
    assert said["site_sha256"] == site.sha256 and said["caution"] == CAUTION
    marks = fc.aim(site).cameras[0].choice.marks
    assert [(each["column"], each["row"]) for each in said["cameras"][0]["marks"]] == [(m.column, m.row) for m in marks]


def test_only_the_cameras_that_are_named(yard):
    """A mark that is no file name and would be a formula."""
    (yard / "two.toml").write_text(SECOND)
    assert typed("aim", "two.toml", "--camera", "=C/1").code == 0
    assert sorted(os.listdir("two-aim")) == ["aim-C-1.pdf", "aim-C-1.png", "manifest.json", "marks.csv"]
    text = (yard / "two-aim" / "marks.csv").read_text()
    assert "'=C/1,1," in text and "\n=C" not in text


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--camera", "C11"], 'camera "C11" is not known: did you mean "C1"? the site has: "C1"'),
        (["--marks", "9"], "marks 9 is not allowed: a whole number from 3 to 8; type for instance 4"),
        (["--marks", "2"], "marks 2 is not allowed"),
        (["--marks", "few"], "Invalid value for '--marks'"),
        (["--issue", ""], "the issue '' is not allowed: text of 1 to 60 printable characters"),
        (["--for", "x" * 61], f"the reader's name '{'x' * 61}' is not allowed: text of 0 to 60 printable characters"),
        (["-o", "nowhere/sheets"], "nowhere/sheets cannot be made: nowhere does not exist; make it first"),
    ],
)
def test_wrong_requests_end_with_2_and_write_nothing(yard, words, said):
    ended = typed("aim", "tiny.toml", *words)
    assert (ended.code, ended.out) == (2, "") and said in flat(ended.err)
    assert os.listdir(yard) == ["tiny.toml"]


def test_a_site_that_is_wrong_ends_with_2(yard):
    (yard / "bad.toml").write_text(TINY.replace("height_m = 4.0", "height_m = -4.0", 1))
    ended = typed("aim", "bad.toml")
    assert (ended.code, ended.out) == (2, "") and 'camera "C1" height_m = -4.0' in ended.err
    assert sorted(os.listdir(yard)) == ["bad.toml", "tiny.toml"]


def test_an_existing_folder_needs_force(yard):
    """Twice the same bytes; what the user wrote into marks.csv is not replaced."""
    assert typed("aim", "tiny.toml").code == 0
    before = {name: (yard / "tiny-aim" / name).read_bytes() for name in NAMES}
    again = typed("aim", "tiny.toml")
    assert again.code == 2 and "tiny-aim exists already; add --force" in flat(again.err)
    assert typed("aim", "tiny.toml", "--force").code == 0
    assert {name: (yard / "tiny-aim" / name).read_bytes() for name in NAMES} == before
    with open("tiny-aim/marks.csv", "a", encoding="utf-8") as file:
        file.write("my own reading\n")
    refused = typed("aim", "tiny.toml", "--force")
    assert refused.code == 2 and "marks.csv, which fencecast did not write or which changed since" in flat(refused.err)
    assert (yard / "tiny-aim" / "marks.csv").read_text(encoding="utf-8").endswith("my own reading\n")


def test_the_cost_stands_on_the_sheet(yard):
    ended = typed("aim", "tiny.toml", "--cost")
    assert ended.code == 0 and "What an error of aim costs" in ended.out and "too far left" in ended.out
    text = PdfReader("tiny-aim/aim-C1.pdf").pages[0].extract_text()
    assert "Not simulated" not in text and "too far left" in text and "thick fog" in text
