"""`fencecast built`: a site file and a picture that appear whole, what is printed, what is refused."""

import csv
import json
import os

import pytest
from command_line import CAUTION, flat, typed

import fencecast as fc


def fill(path, shift=(0.0, 0.0), misread=None, height="4.0"):
    """The marks of the aim sheet, read where they should be but for a shift [px]; misread: number of a mark 20 pixels off."""
    with open(path, newline="", encoding="utf-8-sig") as file:
        rows = list(csv.DictReader(file))
    for k, row in enumerate(rows):
        off = 20.0 if row["mark"] == misread else 0.0
        row["column"] = f"{float(row['expected_column']) + shift[0] + off:.2f}1"
        row["row"] = f"{float(row['expected_row']) + shift[1]:.2f}1"
        row["height_m"] = height if k == 0 else ""
    with open("read.csv", "w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, rows[0])
        writer.writeheader()
        writer.writerows(rows)


@pytest.fixture
def sheets(yard):
    site = fc.load_site("tiny.toml")
    from fencecast.prove.marksfile import marks_file

    (yard / "marks.csv").write_bytes(marks_file(fc.aim(site), lambda mark: "somewhere"))
    return yard


def test_a_site_file_and_its_picture(sheets):
    """Catches: a file half written, an old file that is touched, a second run that replaces without being told."""
    before = (sheets / "tiny.toml").read_bytes()
    fill("marks.csv", (3.0, -4.0))
    ended = typed("built", "tiny.toml", "read.csv")
    assert ended.code == 0 and CAUTION in flat(ended.out)
    assert {"tiny-built.toml", "tiny-built.png"} <= set(os.listdir()) and (sheets / "tiny.toml").read_bytes() == before
    design, built = fc.load_site("tiny.toml").camera[0], fc.load_site("tiny-built.toml").camera[0]
    # Marks appear to the right and above: the camera looks to the left and lower.
    assert built.bearing_deg < design.bearing_deg - 0.1 and built.depression_deg > design.depression_deg + 0.1
    assert "lower than designed: turn it up." in flat(ended.out) and "Written: tiny-built.toml, tiny-built.png" in flat(ended.out)
    again = typed("built", "tiny.toml", "read.csv")
    assert again.code == 2 and "tiny-built.toml exists already; type --force to replace it" in again.err
    assert typed("built", "tiny.toml", "read.csv", "--force").code == 0
    assert typed("run", "tiny-built.toml", "--help").code == 0


def test_json_is_one_object(sheets):
    fill("marks.csv")
    ended = typed("built", "tiny.toml", "read.csv", "--json", "-o", "new.toml")
    said = json.loads(ended.out)
    assert ended.code == 0 and said["site"] == "new.toml" and said["files"] == ["new.toml", "new.png"]
    assert said["cameras"][0]["fits"] and said["caution"] == CAUTION
    assert abs(said["cameras"][0]["moved"]["bearing_deg"]) < 0.1


def test_readings_that_fit_no_pose_end_with_2_and_a_file(sheets):
    """The file is written: it keeps the design's pose and names the camera."""
    fill("marks.csv", misread="2")
    ended = typed("built", "tiny.toml", "read.csv")
    assert ended.code == 2 and "its readings fit no pose" in flat(ended.out) and "mark 2 was misread" in flat(ended.out)
    built = fc.load_site("tiny-built.toml")
    assert built.built.not_fitted == ("C1",) and built.camera == fc.load_site("tiny.toml").camera


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--picture", "640"], "picture '640' is not allowed: columns x rows, whole numbers from 4 to 20000"),
        (["--weather", "fog"], "--precision, --weather and --threads belong to --run; type --run as well"),
        (["-o", "new.txt"], "the site file's name ends in .toml; type for instance -o new.toml"),
        (["-o", "none/new.toml"], "none does not exist; make it first"),
    ],
)
def test_what_is_refused(sheets, words, said):
    fill("marks.csv")
    ended = typed("built", "tiny.toml", "read.csv", *words)
    assert ended.code == 2 and said in flat(ended.err)
    assert not {"tiny-built.toml", "tiny-built.png", "new.txt", "new.toml"} & set(os.listdir())


def test_a_file_with_problems_writes_nothing(sheets):
    fill("marks.csv", height="400")
    ended = typed("built", "tiny.toml", "read.csv")
    assert ended.code == 2 and "read.csv: line 2 height_m = 400.0 is not allowed" in ended.err
    assert "tiny-built.toml" not in os.listdir()
