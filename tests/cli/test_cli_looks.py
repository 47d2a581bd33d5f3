"""`ranges`, `explain` and `view`: tables that hold every number, objects that hold every key, pictures that appear whole."""

import json
import os
import re

import pytest
from command_line import CAUTION, TINY, flat, typed

import fencecast as fc
from statistical import second_model

# Two more cameras: one looks over the horizon, one almost straight down.
THREE = (
    TINY
    + """
[[camera]]
mark = "OVER"
position_m = [-14.0, 2.0]
height_m = 4.0
bearing_deg = 90.0
depression_deg = -12.0
sensor = "core"
lens = "long"

[[camera]]
mark = "DOWN"
position_m = [6.0, 2.0]
height_m = 4.0
bearing_deg = 180.0
depression_deg = 85.0
sensor = "core"
lens = "long"
"""
)
LOOK = ("tiny.toml", "--camera", "C1", "--weather", "thick fog")


def cells(text: str, name: str) -> list[str]:
    """The cells of the table row that begins with a name."""
    line = next(line for line in text.splitlines() if line.startswith(name))
    return line.removeprefix(name).split()


def test_ranges_json_is_the_library_s_table(yard):
    """Catches: an infinity or NaN in the object, a lost key."""
    (yard / "tiny.toml").write_text(THREE)
    ended = typed("ranges", "tiny.toml", "--json")
    said = json.loads(ended.out, parse_constant=lambda word: pytest.fail(f"{word} is not JSON"))
    assert (ended.code, ended.err) == (0, "")
    assert said == fc.ranges(fc.load_site("tiny.toml"))
    assert said["cameras"][1]["blind_m"] == {"feet": "undefined", "waist": "undefined", "head": "undefined"}


def test_the_table_of_ranges_holds_every_number_of_the_object(yard):
    """Catches: a row that shows another camera's number, or forgets one; blind ground without words."""
    (yard / "tiny.toml").write_text(THREE)
    out = typed("ranges", "tiny.toml").out
    cameras = fc.ranges(fc.load_site("tiny.toml"))["cameras"]
    assert cells(out, "camera") == ["C1", "OVER", "DOWN"]
    rows = {
        "one pixel (IFOV), mrad": [f"{c['ifov_mrad']:.3g}" for c in cameras],
        "field, horizontal, degrees": [f"{c['horizontal_field_deg']:.1f}" for c in cameras],
        "field, vertical, degrees": [f"{c['vertical_field_deg']:.1f}" for c in cameras],
        "blind ground, feet, m": [f"{cameras[0]['blind_m']['feet']:.1f}", "undefined", "none"],
        "blind ground, waist, m": [f"{cameras[0]['blind_m']['waist']:.1f}", "undefined", "none"],
        "blind ground, head, m": [f"{cameras[0]['blind_m']['head']:.1f}", "undefined", "none"],
        "50 % of looks classified": [f"{c['range_50_m']:.1f}" for c in cameras],
        "90 % of looks classified": [f"{c['range_90_m']:.1f}" for c in cameras],
        "90 % of alarms after 3 of 5 looks": [f"{c['range_alarm_90_m']:.1f}" for c in cameras],
        "the same, crouch": [f"{c['range_alarm_90_smallest_m']:.1f}" for c in cameras],
        "something is there: 1.0 cycle across 0.5 m": [f"{c['cycles_range_m']['1.0']:.1f}" for c in cameras],
        "which kind of person: 6.4 cycles across 0.5 m": [f"{c['cycles_range_m']['6.4']:.1f}" for c in cameras],
        "something is there: 0.75 cycles on 0.75 m": [f"{c['cycles_2d_range_m']['0.75']:.1f}" for c in cameras],
        "a person: 3 cycles on 0.75 m": [f"{c['cycles_2d_range_m']['3']:.1f}" for c in cameras],
        "pixels on a person at 30 m": [f"{c['pixels_on_person']['30']:.1f}" for c in cameras],
        "false alarms from noise, per day": ["<0.001"] * 3,
    }
    for name, expected in rows.items():
        assert cells(out, name) == expected, name
    leaves = [c["head_leaves_frame_m"] for c in cameras]
    assert cells(out, "head leaves the picture at, m") == ["never" if v is None else f"{v:.1f}" for v in leaves]
    assert "none: it is in the picture down to the foot of the post; undefined: the camera looks over the horizon" in flat(out)
    assert "Slant ranges on axis, small angles, full contrast, for a person of 1.8 x 0.5 m" in out
    assert "reaches 0.90 at shorter distances in the simulator: the counts are for 50 % and one look at full contrast" in flat(
        out
    )
    assert flat(out).endswith(CAUTION) and "Not modelled or uncertain: " in out


def test_many_cameras_are_split_evenly_and_feet_are_shown(yard):
    """Catches: a table wider than the page, a camera lost at the split, metres alone with `units = "us"`."""
    camera = '\n[[camera]]\nmark = "N{0}"\nposition_m = [{0}.0, 9.0]\nheight_m = 4.0\naim_m = [{0}.0, 0.0]\n'
    more = "".join(camera.format(k) + 'sensor = "core"\nlens = "long"\n' for k in range(7))
    (yard / "tiny.toml").write_text(TINY.replace("seed = 4", 'seed = 4\nunits = "us"') + more)
    out = typed("ranges", "tiny.toml").out
    heads = [line.split()[1:] for line in out.splitlines() if line.startswith("camera ")]
    assert heads == [["C1", "N0", "N1", "N2"], ["N3", "N4", "N5", "N6"]]
    camera = fc.ranges(fc.load_site("tiny.toml"))["cameras"][0]
    lines = out.splitlines()
    row = next(i for i, line in enumerate(lines) if line.startswith("50 % of looks classified"))
    assert lines[row + 1].split()[:2] == [f"{camera['range_50_m'] / 0.3048:.0f}", "ft"]


def test_explain_json_is_the_library_s_object(yard):
    ended = typed("explain", *LOOK, "--distance", "20", "--gait", "crouch", "--json")
    said = json.loads(ended.out, parse_constant=lambda word: pytest.fail(f"{word} is not JSON"))
    expected = fc.explain(fc.load_site("tiny.toml"), "C1", "thick fog", 20.0, "crouch")
    assert set(said) == set(expected)
    assert said["tau"] == expected["tau"] and said["gait"] == "crouch"
    assert [rung["name"] for rung in said["rungs"]] == [rung["name"] for rung in expected["rungs"]]


def test_explain_prints_the_budget(yard):
    """Catches: a step, its factor or its check missing; a budget without the caution."""
    ended = typed("explain", *LOOK, "--distance", "20")
    look = fc.explain(fc.load_site("tiny.toml"), "C1", "thick fog", 20.0)
    assert (ended.code, ended.err) == (0, "")
    said = flat(ended.out)
    for rung in look["rungs"]:
        assert rung["name"] in said
        if rung["factor"] is not None:
            assert f"x {rung['factor']:.3f}" in said
        if rung["part"] == 2:
            assert f"{rung['value']:.3f}" in said
    assert f"fog {look['tau_fog']:.3f}" in said
    assert f"{look['water_vapour_g_m3']:.2f} g/m³ of water vapour" in said
    assert f"{look['pixels_wide']:.1f} x {look['pixels_tall']:.1f} pixels" in said
    assert said.endswith(CAUTION) and "the transmission of alarms" in said


def test_the_budget_has_feet_and_fahrenheit_for_us_sites(yard):
    """20 m are 65.6 ft. Catches: a step left in metres and degrees Celsius; millimetres and rates taken for metres."""
    (yard / "tiny.toml").write_text(TINY.replace("seed = 4", 'seed = 4\nunits = "us"'))
    look = fc.explain(fc.load_site("tiny.toml"), "C1", "thick fog", 20.0)
    said = flat(typed("explain", *LOOK, "--distance", "20").out)
    surfaces, vapour, fog = (look["rungs"][k] for k in (0, 2, 3))
    torso, ground = look["parts"][1]["temperature_c"], look["ground_temperature_c"]
    assert surfaces["detail"] == f"surfaces, {torso:.1f} °C and {ground:.1f} °C"
    us = f"surfaces, {torso:.1f} °C ({1.8 * torso + 32:.0f} °F) and {ground:.1f} °C ({1.8 * ground + 32:.0f} °F)"
    assert surfaces["detail_us"] == us and us in said
    assert vapour["detail_us"].startswith(f"{look['range_m']:.1f} m ({look['range_m'] / 0.3048:.0f} ft) of air, ")
    assert fog["detail_us"].endswith(" µm, optical range 12 m (39 ft)") and fog["detail"].endswith(" µm, optical range 12 m")
    assert "20 m (66 ft) along the ground" in said and "optical range 12 m (39 ft)" in said


def test_explain_says_when_the_person_is_out_of_the_picture(yard):
    """Catches: a budget of nothing that reads like a measurement."""
    out = typed("explain", *LOOK, "--distance", "1").out
    assert "One look by C1 at 1 m counts with chance under 0.01; the person is 40.1 degrees below the picture" in out
    assert "The person is not in the picture: 40.1 degrees below it. Nothing of the person is drawn." in out


def test_explain_names_what_hides_and_what_other_cameras_have(yard):
    """Catches: a hidden person told as one who is not in the picture; an obstacle without its name; a place on the bearing."""
    hut = '\n[[obstacle]]\nname = "hut"\nfootprint_m = [[-4.0, 0.0], [-2.0, 0.0], [-2.0, 3.0], [-4.0, 3.0]]\nheight_m = 6.0\n'
    (yard / "tiny.toml").write_text(THREE + hut)
    out = flat(typed("explain", *LOOK, "--at", "6", "0", "-o", "look.png").out)
    assert "One look by C1 at 20.1 m counts with chance under 0.01; the person is hidden by hut" in out
    assert "An obstacle, hut, 6 m high and 10 m from the camera, hides all below" in out
    assert "Nothing of the person is left to see." in out
    assert "hidden by hut" in out[out.index("Contrast of the torso") : out.index("Chances")]
    assert "Other cameras at this place (6.0, 0.0 m): " in out
    assert re.search(r"DOWN \d+\.\d degrees above its picture", out)  # it looks 85 degrees down, the person is 2 m away
    assert (yard / "look.png").read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"
    said = typed("view", *LOOK, "--distance", "20", "-o", "view.png").out
    assert "hidden by hut" in said


@pytest.mark.parametrize("words", [(), ("--distance", "20", "--at", "6", "0")])
def test_explain_asks_for_one_place(yard, words):
    """Catches: a place that is ignored beside a distance; a traceback without either."""
    ended = typed("explain", *LOOK, *words)
    assert ended.code == 2 and "one of --distance M and --at X Y says where the person is" in ended.err


def test_pictures_of_a_look_are_written_whole(yard):
    """Catches: a picture that is not a PNG, files beside it, an old picture that is lost when drawing fails."""
    assert typed("explain", *LOOK, "--distance", "20", "-o", "look.png").out.endswith("\nWritten  look.png\n")
    ended = typed("view", *LOOK, "--distance", "10", "--distance", "20", "-o", "view.png")
    assert (ended.code, ended.err) == (0, "")
    assert [line.split()[:3] for line in ended.out.splitlines() if line.startswith("thick fog")] == [
        ["thick", "fog", "10"],
        ["thick", "fog", "20"],
    ]
    assert sorted(os.listdir(yard)) == ["look.png", "tiny.toml", "view.png"]
    assert all((yard / name).read_bytes()[:8] == b"\x89PNG\r\n\x1a\n" for name in ("view.png", "look.png"))


def test_a_failing_picture_keeps_the_old_one(yard, monkeypatch):
    import fencecast.show.look.onelook as drawing

    (yard / "look.png").write_text("old")
    monkeypatch.setattr(drawing, "plot_one_look", lambda look, site: 1 / 0)
    ended = typed("explain", *LOOK, "--distance", "20", "-o", "look.png")
    assert (ended.code, ended.out) == (1, "")
    assert ended.err == "Error: fencecast failed: ZeroDivisionError: division by zero (FENCECAST_DEBUG=1 shows where)\n"
    assert (yard / "look.png").read_text() == "old"
    assert sorted(os.listdir(yard)) == ["look.png", "tiny.toml"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["explain", "tiny.toml", "--camera", "C2", "--weather", "thick fog", "--distance", "20"], 'no camera "C2" in this site'),
        (["explain", *LOOK[:3], "--weather", "fog", "--distance", "20"], 'no weather class "fog" in this site'),
        (["explain", *LOOK, "--distance", "nan"], "distance nan is not allowed: metres from 0.1 to 1000; type for instance 40"),
        (["explain", *LOOK, "--distance", "-5"], "distance -5 is not allowed: metres from 0.1 to 1000; type for instance 40"),
        (["explain", *LOOK, "--distance", "20", "--gait", "stroll"], 'no gait "stroll"; there are "walk", '),
        (
            ["view", *LOOK, "--distance", "20", "-o", "view.jpg"],
            "view.jpg: a picture's name ends in .png; type for instance -o view.png",
        ),
        (["view", *LOOK, *["--distance", "20"] * 9, "-o", "view.png"], "9 distances are too many for one picture: at most "),
        (["plot", "none.nc"], "none.nc does not exist: a results file that `fencecast run` wrote is wanted; type for instance "),
        (["plot", "tiny.toml"], "tiny.toml cannot be read as a results file: "),
        (["ranges", "none.toml"], "none.toml: there is no such file (there is: tiny.toml)"),
    ],
)
def test_what_cannot_be_ends_with_2(yard, words, said):
    """Catches: a traceback for a name or number that the site does not have."""
    ended = typed(*words)
    assert (ended.code, ended.out) == (2, "")
    assert ended.err.startswith(f"Error: {said}")
    assert os.listdir(yard) == ["tiny.toml"]


def test_the_ladder_says_what_a_fence_takes():
    """Catches: a budget that says that nothing is left behind a fence and in the next line that the look counts. Behind a closed
    palisade of 1.5 m, watched from 4 m, 3.2 m behind it: its top shows at 4 - 2.5 * 16 / 12.8 = 0.875 m, so that head and torso
    are free; one of 2.4 m hides all but the head (2.0 m: all)."""
    low = fc.explain(fc.Site(**second_model.behind_a_fence("palisade", 0.0, 1.5)), "N", "clear night", 16.0)
    rung = next(rung for rung in low["rungs"] if rung["name"] == "fence in between")
    assert rung["detail"] == "fence passes 0.00 below 0.9 m"
    assert rung["factor"] == 1.0  # the torso is above
    assert low["fences"] == [{"section": "fence", "passes": 0.0, "top_m": pytest.approx(0.875)}]
    left = next(rung["value"] for rung in low["rungs"] if rung["name"] == "contrast left by the fence")
    assert 0.4 < left < 0.7
    assert low["seen_share"] < left + 0.02  # what a pixel of the edge adds
    high = fc.explain(fc.Site(**second_model.behind_a_fence("palisade", 0.0, 3.0)), "N", "clear night", 16.0)
    assert next(rung for rung in high["rungs"] if rung["name"] == "fence in between")["after_k"] == 0.0
    assert (high["passes_fences"], high["seen_share"], high["p_counts"]) == (0.0, 0.0, 0.0)
    open_yard = fc.explain(fc.Site(**second_model.behind_a_fence("palisade", 0.0, 1.5)), "N", "clear night", 8.0)
    assert open_yard["fences"] == []
    assert not [rung for rung in open_yard["rungs"] if "fence" in rung["name"]]
