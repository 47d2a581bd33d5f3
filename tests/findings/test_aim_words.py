"""The words of aim sheets, made from the numbers."""

import dataclasses
import math

import pytest

import fencecast as fc
from fencecast.camera import camera_geometry
from fencecast.findings.aim import aim_blocks, aim_object
from fencecast.findings.aimhow import NO_MARKS, how_lines, keep_clear_words
from fencecast.findings.aimwords import (
    bearing_words,
    chainage_words,
    cost_table,
    depression_words,
    feet_words,
    fixed_point_words,
    horizon_words,
    inside_words,
    mark_rows,
    mount_rows,
)
from fencecast.findings.blocks import words_of
from fencecast.prove.aimcost import ERRORS_DEG, WAYS, Cost, Fall
from fencecast.prove.marks import REASONS
from fencecast.prove.tapes import fixed_points
from prove.aimyards import camera, hostile, ring, yard
from show.wording import wrong_words

DEMO = "configs/estuary-yard.toml"


@pytest.fixture(scope="module")
def demo(request):
    return fc.aim(fc.load_site(request.config.rootpath / DEMO))


def rows(sheets, mark):
    return {row.label: row.text for row in mount_rows(sheets.site, sheets.of(mark).mount)}


def test_the_demo_s_first_mount_in_words(demo):
    """Catches: a sentence that changed, a number that is rounded otherwise than the installer sets it."""
    assert rows(demo, "T1") == {
        "stands": "A 0.80 m, 1.20 m inside the fence line (quay)",
        "in the site file": "x 0.80 m, y 1.20 m",
        "height": "4.00 m from the ground to the middle of the lens, ±0.05 m",
        "lens": "6 mm, f/1.0; field 25.5° across, 19.3° up and down",
        "bearing": "88.9° from grid north; 1.1° inwards of the fence line",
        "depression": "11.2° below level (down is positive)",
        "roll": "0°, ±1°: posts in the middle of the picture stand upright",
        "axis meets": "the ground at A 21.00 m, 1.60 m inside, 20.2 m from the mast",
        "feet in view": "from 10.5 m in front of the mast on",
        "horizon": "above the picture, by 10 px (1.6°): no sky may show",
    }
    assert rows(demo, "T7")["horizon"] == "row 4.9 in the middle of the picture"
    bold = [row.label for row in mount_rows(demo.site, demo.of("T1").mount) if row.bold]
    assert bold == ["height", "bearing", "depression"]


def test_the_demo_s_marks_in_words(demo):
    first, *_, last = mark_rows(demo.site, demo.of("T1"))
    assert (first.place, first.below) == ("A 21.00 m, 2.00 m inside", ("20.22 m from the foot of the mast",))
    assert first.tapes == (("workshop", ", SE corner", "11.40 m"), ("workshop", ", SW corner", "15.56 m"))
    assert (first.column, first.row, first.share) == ("73.1", "60.0", "45.7, 50.0")
    assert (last.column, last.row, last.share) == ("17.3", "31.9", "10.8, 26.6")


def test_fixed_points_have_names_of_their_own(demo):
    """Catches: two points of a site that read alike."""
    for site in (demo.site, hostile(), ring([camera()])):
        names = ["".join(fixed_point_words(site, point)) for point in fixed_points(site, site.camera[0])]
        assert len(set(names)) == len(names)
    words = ["".join(fixed_point_words(demo.site, point)) for point in fixed_points(demo.site, demo.site.camera[0])]
    assert {
        "corner A/B",
        "corner A/D",
        "bend of C",
        "lorry gate, post at B 9.00 m",
        "office, NE corner",
        "foot of mast T1",
    } <= set(words)


def test_unusual_mounts_in_words():
    """Each on its own: the horizon, straight down, the fence line, before the start and past the end."""
    up = camera("UP", bearing_deg=90.0, depression_deg=-15.0, position_m=[-2.0, 0.0])
    site = yard([up, camera("DOWN", bearing_deg=0.0, depression_deg=90.0)])
    sheets = fc.aim(site)
    up, down = rows(sheets, "UP"), rows(sheets, "DOWN")
    assert up["stands"] == "2.00 m before A 0, on the fence line (south)"
    assert up["bearing"] == "90.0° from grid north; along the fence line"
    assert up["depression"] == "15.0° above level (−15.0°; down is positive)"
    assert (up["axis meets"], up["feet in view"]) == ("no ground: it runs level or rises", "nowhere: it looks over the horizon")
    assert up["horizon"] == "below the picture: only sky shows" and up["in the site file"] == "x −2.00 m, y 0.00 m"
    assert (down["feet in view"], down["horizon"]) == ("from the foot of the mast on", "none: it looks straight up or down")
    assert chainage_words(site, 0, 49.5) == "1.50 m past A 48.00 m" and inside_words(-0.4) == "0.40 m outside"
    assert depression_words(0.0) == "0.0° below level (down is positive)"
    assert horizon_words(sheets.of("UP").mount).startswith("below") and feet_words(sheets.of("DOWN").mount, "us").startswith(
        "from the"
    )


@pytest.mark.parametrize(("roll", "lower", "lean"), [(2.4, "right", "left"), (-1.0, "left", "right")])
def test_the_sheet_of_a_rolled_camera_says_how_it_leans(roll, lower, lean):
    """Catches: a rolled camera set up level; left and right exchanged. Source of the lean: a post as it appears."""
    site = yard([camera("R", bearing_deg=70.0, depression_deg=10.0, roll_deg=roll)])
    size = f"{abs(roll):.1f}°"
    assert rows(fc.aim(site), "R")["roll"] == (
        f"{size}, ±1°: the camera's {lower} side is the lower, seen from behind it; posts lean to the {lean} in the picture"
    )
    geometry = camera_geometry(site, site.camera[0])
    ahead = geometry.x_m + 20.0 * math.sin(geometry.bearing_rad), geometry.y_m + 20.0 * math.cos(geometry.bearing_rad)
    foot, top = geometry.position_px(*ahead, 0.0), geometry.position_px(*ahead, 2.0)
    assert (top[0] < foot[0]) == (lean == "left")


def test_true_north_in_words():
    place = {"latitude": 54.0, "longitude": 6.0}
    turned = yard([camera(bearing_deg=350.0, depression_deg=9.0)], map=place | {"grid_north_deg": 30.0})
    straight = yard([camera(bearing_deg=359.97, depression_deg=9.0)], map=place)
    assert bearing_words(fc.aim(turned).cameras[0].mount).startswith("350.0° from grid north (20.0° from true)")
    assert bearing_words(fc.aim(straight).cameras[0].mount).startswith("0.0° from grid and true north")


def test_feet_beside_metres():
    """`units = "us"`: 4.00 m are 13.12 ft, 21 m 68.90 ft."""
    site = yard([camera()], units="us")
    sheets = fc.aim(site)
    told = rows(sheets, "K1")
    assert told["height"].startswith("4.00 m (13.12 ft)") and "(65.6 ft)" in told["axis meets"]
    for row, mark in zip(mark_rows(site, sheets.cameras[0]), sheets.cameras[0].choice.marks):
        assert row.below[1].startswith(f"{mark.chainage_m / 0.3048:,.2f} ft, {mark.inside_m / 0.3048:.2f} ft inside")
        assert all(length.endswith(" ft)") for _, _, length in row.tapes)


def test_what_to_do_follows_the_marks(demo):
    """Catches: a bottle where a person must stand, three marks that are asked for roll by two."""
    lines = " ".join(how_lines(demo.of("T1")))
    assert "bottle of hot water (0.3 m)" in lines and "within 3 px, both ways." in lines and "6.2 px in the middle" in lines
    assert "marks 1 to 4" in lines and "roll. Near ones off" in lines
    assert "[tolerance] is not given" in " ".join(how_lines(fc.aim(yard([camera()])).cameras[0]))
    person = fc.aim(hostile()).cameras[2]
    assert person.choice.stands_on == "person" and "let a person (1.8 m) stand on a mark" in " ".join(how_lines(person))
    two = dataclasses.replace(demo.of("T1").choice, marks=demo.of("T1").choice.marks[:2])
    assert "roll and height cannot be checked" in " ".join(how_lines(dataclasses.replace(demo.of("T1"), choice=two)))
    assert set(NO_MARKS) == set(REASONS)


def test_the_table_of_costs(demo):
    """Bold from a fall of 0.10 on, `none` where nothing is told from chance, the middle of the segment as its place."""
    falls = [Fall(way, error, 0.0, None, 0.0, 0.0) for way in WAYS for error in ERRORS_DEG]
    falls[1] = Fall("too far left", 3.0, -0.0996, 0, 7.0, 8.0)
    falls[5] = Fall("too low", 3.0, -0.38, 1, 46.0, 47.0)
    table = cost_table(demo.site, Cost("advection fog", tuple(falls)))
    assert table.headings == ("camera aims", "1 degree", "3 degrees")
    assert table.rows[0] == ("too far left", (("none", False), ("−0.10 at A 8 m", False)))
    assert table.rows[2] == ("too low", (("none", False), ("−0.38 at B 47 m", True)))
    assert "advection fog (the worst class)" in table.note
    assert cost_table(demo.site, None).note == "Not simulated: fencecast aim --cost does."


def test_nothing_is_promised_and_the_caution_is_there(demo):
    for sheets in (demo, fc.aim(hostile())):
        blocks = words_of(aim_blocks(sheets, ["x/aim-T1.pdf"]))
        assert (
            not wrong_words([blocks])
            and "Planning aid" in blocks
            and aim_object(sheets, [])["caution"].startswith("Planning aid")
        )
        for each in sheets.cameras:
            assert not wrong_words([*how_lines(each), *keep_clear_words(each.mount)])


def test_the_object_has_every_mark(demo):
    said = aim_object(demo, ["a.pdf"])
    assert [each["mark"] for each in said["cameras"]] == ["T1", "T2", "T3", "T4", "T5", "T6", "T7"]
    first = said["cameras"][0]
    mark = demo.of("T1").choice.marks[2]
    assert first["marks"][2] == {
        "mark": 3, "place": "A 13.00 m, 3.00 m inside", "section": "A", "chainage_m": 13.0, "inside_m": 3.0,
        "x_m": 13.0, "y_m": 3.0, "column": mark.column, "row": mark.row, "from_mast_m": mark.from_mast_m,
        "tapes": [{"x_m": 10.0, "y_m": 13.0, "kind": "building", "length_m": 109.0**0.5},
                  {"x_m": 0.8, "y_m": 1.2, "kind": "mast", "length_m": mark.from_mast_m}],
    }  # fmt: skip
    assert first["no_marks"] is None and first["cost"] is None and first["tolerance_px"] == [3, 3]
    text = words_of(aim_blocks(fc.aim(hostile()), []))
    assert "it looks over the horizon" in text and "no ground beside the fence is in its picture" in text
