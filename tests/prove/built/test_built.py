"""A file of marks and what becomes of the site file: poses found again, comments kept, what is written and what is not."""

import math
import tomllib

import numpy as np
import pytest

import fencecast as fc
from fencecast.findings.blocks import words_of
from fencecast.findings.built import built_blocks, built_object
from fencecast.findings.builtwords import headline, misfit_words, moved_words
from fencecast.prove.built.seen import BEARING, DEPRESSION, HEIGHT, ROLL
from fencecast.site import parse_site
from prove.built.builtyards import YARD3, YARD4, YARD6, rows_of, site, written

TURNED = (1.2, -0.8, 2.5)


def test_poses_are_found_again(tmp_path):
    """Three cameras turned by known angles, read without error. Catches: two cameras that exchange their rows or poses."""
    turns = {"K1": TURNED, "K2": (-2.0, 1.5, -1.0), "K3": (0.0, 0.0, 0.0)}
    rows = [row for mark, by in turns.items() for row in rows_of(mark, by, 4.2, YARD6)]
    found = fc.built(site(*turns), written(tmp_path, *rows), date="2026-11-30")
    for camera, built in zip(found.cameras, found.site.camera):
        # The priors (roll, mast) pull a little: less than half a sd of what six marks tell.
        by = camera.moved
        assert np.degrees(by[[BEARING, DEPRESSION, ROLL]]) == pytest.approx(turns[camera.mark], abs=0.06)
        assert by[HEIGHT] == pytest.approx(0.2, abs=0.005)
        assert camera.fits and camera.pose.cost < 1.0 and camera.explanations == ()
        assert built.bearing_deg == pytest.approx(math.degrees(camera.pose.value[BEARING]), abs=5.1e-4)
        assert built.roll_deg == pytest.approx(math.degrees(camera.pose.value[ROLL]), abs=5.1e-4)
        assert built.bearing_sd_deg == pytest.approx(math.degrees(camera.pose.sd[BEARING]), abs=5.1e-4)
        assert built.height_sd_m == pytest.approx(camera.pose.sd[HEIGHT], abs=5.1e-4)
    assert found.not_fitted == () and found.warnings == ()
    table = found.site.built
    assert (
        table.date == "2026-11-30" and table.readings == {"K1": 12, "K2": 12, "K3": 12} and table.dof == dict.fromkeys(turns, 10)
    )
    assert table.marks_sha256 == found.marks_sha256 and table.not_fitted is None


TEXT = """# A yard with comments.
schema = 2
title = "Plain yard"  # its name

[site]
ground = "gravel"

[[perimeter]]
name = "south"
points_m = [[-48.0, 0.0], [48.0, 0.0]]
inside = "left"

[sensors.core]
columns = 160
rows = 120
pitch_um = 17.0
netd_mk = 50

[lenses.three]
focal_length_mm = 3.0
f_number = 1.0

[[camera]]
mark = "K1"  # by the gate
position_m = [0.0, 2.0]
height_m = 4.0  # of the lens
aim_m = [{x}, {y}]  # a tree
sensor = "core"
lens = "three"

[[camera]]
mark = "K2"
position_m = [0.0, 2.0]
height_m = "4 m"
bearing_deg = 300.0
depression_deg = 15.0  # down
sensor = "core"
lens = "three"

[[rule]]
kind = "line"
perimeter = "south"

# The weather comes last.
[[weather]]
name = "clear night"
hours_per_year = 3000
air_temperature_c = 5.0
relative_humidity = 0.75
ground_minus_air_k = -2.0
"""
REACH = 4.0 / math.tan(math.radians(15.0))
AT = {"x": f"{REACH * math.sin(math.radians(35.0)):.6f}", "y": f"{2.0 + REACH * math.cos(math.radians(35.0)):.6f}"}
PLAIN = TEXT.format(**AT)


def test_the_site_file_keeps_its_comments(tmp_path):
    """Changed are the measured keys of cameras and [built] alone. Catches: an aim that fights the angles, a lost comment."""
    (tmp_path / "yard.toml").write_text(PLAIN)
    marks = written(tmp_path, *rows_of("K1", TURNED, 4.2), *rows_of("K2", (0.3, 0.5, 0.0), 4.1))
    found = fc.built(tmp_path / "yard.toml", marks, date="2026-11-30")
    new = found.site.text
    before, after = PLAIN.splitlines(), new.splitlines()
    assert [line for line in before if line not in after and "aim_m" not in line] == [
        "height_m = 4.0  # of the lens",
        'height_m = "4 m"',
        "bearing_deg = 300.0",
        "depression_deg = 15.0  # down",
    ]
    for comment in (
        "# A yard with comments.",
        "# its name",
        "# by the gate",
        "# of the lens",
        "# down",
        "# The weather comes last.",
    ):
        assert new.count(comment) == 1
    keys = tomllib.loads(new)["camera"][0]
    assert list(keys) == ["mark", "position_m", "height_m", "bearing_deg", "depression_deg", "roll_deg", "bearing_sd_deg",
                          "depression_sd_deg", "height_sd_m", "sensor", "lens"]  # fmt: skip
    assert parse_site(new) == found.site and (tmp_path / "yard.toml").read_text() == PLAIN
    again = fc.built(tmp_path / "yard.toml", marks, date="2026-11-30")
    assert again.site.text == new


def test_a_camera_that_does_not_fit_keeps_its_design(tmp_path):
    """A misread mark of one camera: the other is written, and [built] names the one that is not."""
    rows = [*rows_of("K1", TURNED, shift={2: (0.0, 14.0)}), *rows_of("K2", (1.0, 0.0, 0.0))]
    the_site = site("K1", "K2")
    found = fc.built(the_site, written(tmp_path, *rows))
    assert found.not_fitted == ("K1",) and found.site.built.not_fitted == ("K1",) and set(found.site.built.chi2) == {"K2"}
    assert found.site.camera[0] == the_site.camera[0] and found.site.camera[1].bearing_deg == pytest.approx(301.0, abs=0.2)
    assert misfit_words(found.of("K1")) == [
        "K1: its readings fit no pose (p <0.001), so it keeps the pose of the site file. One single mistake explains it: mark 3 "
        "was misread, or does not lie where the file says; without it all others fit."
    ]
    assert headline(found).startswith("K1 fits no pose: mark 3 misread; K2 looks 1.0 degree too far to the right")
    with pytest.raises(fc.UsageError):
        found.of("K3")


def test_what_an_earlier_file_said_stays(tmp_path):
    """One camera read today, one last week. Catches: provenance of the other camera that is lost."""
    first = fc.built(site("K1", "K2"), written(tmp_path, *rows_of("K1", TURNED)), date="2026-11-20")
    second = fc.built(first.site, written(tmp_path, *rows_of("K2")), date="2026-11-30")
    assert set(second.site.built.chi2) == {"K1", "K2"} and second.site.text.count("[built]") == 1
    assert second.site.camera[0] == first.site.camera[0]
    # Marks read again on a site as built: nothing has moved.
    again = fc.built(second.site, written(tmp_path, *rows_of("K1", TURNED)))
    assert moved_words(again.of("K1")) == []


def test_a_picture_of_another_size(tmp_path):
    """Read in 640 x 480: the same pose to half a pixel of it."""
    rows = [[*row[:7], f"{4 * float(row[7]):.3f}1", f"{4 * float(row[8]):.3f}1", *row[9:]] for row in rows_of("K1", TURNED)]
    found = fc.built(site("K1"), written(tmp_path, *rows), picture="640x480").of("K1")
    plain = fc.built(site("K1"), written(tmp_path, *rows_of("K1", TURNED))).of("K1")
    # Finer readings weigh a little more against roll's prior.
    assert found.pose.value == pytest.approx(plain.pose.value, abs=2e-4)
    assert found.pose.sd[BEARING] < plain.pose.sd[BEARING]


def test_a_lens_that_is_another(tmp_path):
    """5 % longer, six marks: a lens of its own in the site file; four marks tell none, and say so."""
    the_site = site("K1", "K2")
    longer = the_site.replace(lenses={"three": {"focal_length_mm": 3.15, "f_number": 1.0}}, camera=the_site.camera)
    image = fc.built(longer, written(tmp_path, *rows_of("K1"))).of("K1").image
    from prove.built.builtyards import AIMS, places, seen

    place = places(YARD6, AIMS["K1"], (0.0, 2.0))
    exact = seen(place, image, (0.0, 2.0, 4.0), 35.0, 15.0, 0.0)
    rows = rows_of("K1", across_ahead=YARD6)
    for row, (column, down) in zip(rows, exact):
        row[7], row[8] = f"{column:.4f}", f"{down:.4f}"
    found = fc.built(the_site, written(tmp_path, *rows, *rows_of("K2")), lens_free=True)
    assert found.of("K1").focal_mm == pytest.approx(3.15, abs=0.005) and found.of("K2").focal_mm == 3.0
    assert found.site.lenses["three of K1"].focal_length_mm == pytest.approx(3.15, abs=0.005)
    assert found.site.camera[0].lens == "three of K1" and found.site.camera[1].lens == "three"
    assert any('camera "K2": 4 marks do not tell a focal length; 6 do, so it stays as it is' in text for text in found.warnings)
    assert any("has a lens of 3.15 mm, not 3 mm" in text for text in moved_words(found.of("K1")))


@pytest.mark.parametrize("what", ["mast", "tape"])
def test_a_mast_or_a_height_that_is_elsewhere(tmp_path, what):
    """0.8 m beside its place, or 0.7 m higher than by tape: not written, but named with what fits."""
    by = {"mast": (0.8, 0.0), "tape": (0.0, 0.7)}[what]
    rows = rows_of("K1", height_m=4.0 + by[1], across_ahead=YARD6)
    for row in rows:
        row[2] = f"{float(row[2]) + by[0]:.4f}"
    rows[0][9] = "4.0"
    found = fc.built(site("K1"), written(tmp_path, *rows))
    first = found.of("K1").explanations[0]
    assert found.not_fitted == ("K1",) and first.kind == {"mast": "mast", "tape": "height"}[what]
    said = {"mast": "it stands 0.8 m beside the place in the site file; measure that, and change position_m there",
            "tape": "its height by tape is wrong (4.69 m fits, not 4.00 m); measure it again"}  # fmt: skip
    assert said[what] in misfit_words(found.of("K1"))[0]


def test_words_for_who_stands_on_the_ladder(tmp_path):
    """Catches: left for right, up for down, a sentence about what is not certain."""
    rows = [*rows_of("K1", (1.8, 0.9, 0.0)), *rows_of("K2", (-2.0, -3.0, 0.0)), *rows_of("K3", (0.0, 0.0, -4.0), 3.8)]
    found = fc.built(site("K1", "K2", "K3"), written(tmp_path, *rows))
    said = {mark: moved_words(found.of(mark)) for mark in ("K1", "K2", "K3")}
    assert said["K1"] == [
        "K1 looks 1.8 degrees too far to the right: turn it left.",
        "K1 looks 0.9 degrees lower than designed: turn it up.",
    ]
    assert said["K2"][0] == "K2 looks 3.0 degrees higher than designed: turn it down."
    assert said["K2"][1].startswith("K2 looks 2.0 degrees too far to the left: turn it right")
    assert said["K3"][0].startswith("K3 leans, its left side ") and said["K3"][0].endswith(" too low: lift that side.")
    assert said["K3"][-1] == "K3 is mounted 0.20 m lower than designed."
    text = words_of(built_blocks(found, ["a.toml", "a.png"]))
    assert "K1  4  +1.8 ±" in text and "A slope is invisible" in text and "Written: a.toml, a.png" in text


def test_three_marks(tmp_path):
    """They solve a pose; one that does not fit is not blamed on a mark."""
    good = fc.built(site("K1"), written(tmp_path, *rows_of("K1", TURNED, across_ahead=YARD3)))
    assert good.of("K1").fits
    assert "K1 has three marks: a misread one can be seen, never named. Four tell." in words_of(built_blocks(good, []))
    bad = fc.built(site("K1"), written(tmp_path, *rows_of("K1", TURNED, across_ahead=YARD3, shift={1: (0.0, 25.0)})))
    assert misfit_words(bad.of("K1")) == [
        "K1: its readings fit no pose (p <0.001), so it keeps the pose of the site file. Three marks show that something is "
        "wrong, not which mark; read a fourth."
    ]


def test_the_object_has_what_scripts_read(tmp_path):
    rows = [*rows_of("K1", TURNED), *rows_of("K2", shift={0: (12.0, 0.0)})]
    found = fc.built(site("K1", "K2"), written(tmp_path, *rows))
    said = built_object(found, ["a.toml", "a.png"])
    one, two = said["cameras"]
    wanted = {"mark", "bearing_deg", "depression_deg", "roll_deg", "height_m", "x_m", "y_m", "sd", "moved", "cost", "dof", "p",
              "focal_length_mm", "residual_px", "explanations", "written"}  # fmt: skip
    assert wanted <= set(one) and one["dof"] == 6 and np.shape(one["residual_px"]) == (len(YARD4), 2)
    assert (
        one["moved"]["bearing_deg"] == pytest.approx(1.2, abs=0.1) and one["written"]["roll_deg"] == found.site.camera[0].roll_deg
    )
    assert two["written"] == {} and two["explanations"][0]["kind"] == "one mark" and two["explanations"][0]["marks"] == ["1"]
    assert said["site"] == "a.toml" and said["not_fitted"] == ["K2"] and said["schema"] == 1
