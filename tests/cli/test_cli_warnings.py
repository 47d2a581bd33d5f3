"""Warnings before the numbers: each site that deserves one, and one that deserves none."""

import pytest
from command_line import SECOND_SECTION, TINY, typed

import fencecast as fc
from fencecast.findings.sitewarnings import long_run_warning, site_warnings

SECOND_CAMERA = """
[[camera]]
mark = "C2"
position_m = [20.0, 2.0]
height_m = 4.0
aim_m = [6.0, 0.0]
sensor = "core"
lens = "long"
"""


def warned(text: str) -> list[str]:
    return site_warnings(fc.parse_site(text))


def test_a_plain_site_is_not_warned_about():
    assert warned(TINY) == []


def test_another_band_is_warned_about():
    """Catches: numbers for 3 to 5 um that look as meets as those for 8 to 14 um; a warning about a sensor that no camera has."""
    other = TINY.replace("netd_mk = 50.0", "netd_mk = 50.0\nband_um = [3.0, 5.0]")
    assert warned(other) == [
        'sensor "core" (3 to 5 um): the laws for clear air, fog and wet windows are for 8 to 14 um; in another band '
        "their answers are rough"
    ]
    spare = "\n[sensors.spare]\ncolumns = 160\nrows = 120\npitch_um = 17.0\nnetd_mk = 50.0\nband_um = [3.0, 5.0]\n"
    assert warned(TINY + spare) == []


def test_ground_past_the_law_of_clear_air_is_warned_about_once():
    """Catches: extrapolated transmission without a word; one warning for each segment."""
    far = TINY.replace("[[0.0, 0.0], [12.0, 0.0]]", "[[0.0, 0.0], [386.0, 0.0]]")
    assert warned(far) == [
        'camera "C1": ground up to 400 m away is watched; the law for clear air is a fit up to 300 m and is extrapolated beyond'
    ]
    assert warned(TINY.replace("[[0.0, 0.0], [12.0, 0.0]]", "[[0.0, 0.0], [285.0, 0.0]]")) == []


def test_a_section_that_no_rule_watches_is_warned_about():
    assert warned(TINY + SECOND_SECTION) == ['section "river side": no rule watches it, so there is no Pd there (no data)']
    third = SECOND_SECTION.replace("river side", "bank").replace("12.0", "13.0")
    assert warned(TINY + SECOND_SECTION + third) == [
        'sections "river side", "bank": no rule watches them, so there is no Pd there (no data)'
    ]
    # A rule with points of its own watches every section.
    everywhere = '\n[[rule]]\nkind = "area"\npoints_m = [[0.0, 0.0], [12.0, 0.0], [12.0, 8.0], [0.0, 8.0], [0.0, 0.0]]\n'
    assert warned(TINY + SECOND_SECTION + everywhere) == []


def test_a_camera_that_no_rule_uses_is_warned_about():
    """Catches: a camera paid for and forgotten in the rules."""
    text = TINY.replace('perimeter = "south"\n', 'perimeter = "south"\ncameras = ["C1"]\n') + SECOND_CAMERA
    assert warned(text) == ['camera "C2": no rule uses it, so it adds nothing to Pd']
    assert warned(TINY + SECOND_CAMERA) == []


@pytest.mark.parametrize("command", [["ranges"], ["run", "--weather", "none of these"]])
def test_warnings_go_to_standard_error(yard, command):
    """Catches: a warning in the middle of the JSON object. (The second command is refused before it warns.)"""
    (yard / "tiny.toml").write_text(TINY + SECOND_SECTION)
    ended = typed(command[0], "tiny.toml", *command[1:], "--json")
    assert "Warning" not in ended.out
    assert ended.err.startswith("Warning: section" if command[0] == "ranges" else "Error: no weather class")


def test_a_very_long_run_is_announced():
    """Catches: hours without a word; a warning about every ordinary site.

    By hand: 14 looks are asked of one camera (2 s of 5 looks and 4 or 5 before), so 12 m in 3 segments and 2 classes at 2,048
    crossings are 0.2 million looks: a second. 600 m in 6,000 segments at 100,000 crossings are 2e10 looks: hours.
    """
    assert long_run_warning(fc.parse_site(TINY), 2, 2048, 2) == ""
    long = TINY.replace("[[0.0, 0.0], [12.0, 0.0]]", "[[0.0, 0.0], [600.0, 0.0]]").replace("length_m = 4.0", "length_m = 0.1")
    said = long_run_warning(fc.parse_site(long), 2, 100_000, 2)
    assert said == (
        "this may take up to 5 hours on 2 threads: 6,000 segments in 2 weather classes, up to 100,000 crossings each; a wider "
        "--precision, a lower --max-crossings, fewer classes (--weather) or a longer segment_length_m make it shorter"
    )


def test_a_sensor_of_many_pixels_makes_a_run_long():
    """Catches: a warning that counts looks and forgets what a look costs."""
    fine = TINY.replace("columns = 160\nrows = 120\npitch_um = 17.0", "columns = 2560\nrows = 1920\npitch_um = 2.0")
    assert long_run_warning(fc.parse_site(TINY), 2, 2_000_000, 2) == ""
    assert "this may take up to " in long_run_warning(fc.parse_site(fine), 2, 2_000_000, 2)
