"""`fencecast from-map` as it is typed: exit codes, one file or none, what is printed where."""

from __future__ import annotations

import json

import pytest
from command_line import typed

from maps.drawn import building, camera, feature, fence, geojson, yard


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "yard.geojson").write_bytes(geojson(*yard(), name="Yard"))
    return tmp_path


def test_a_file_and_its_report(folder):
    """What was taken, what to check, where it lies; catches a report that names no feature."""
    ended = typed("from-map", "yard.geojson", "-o", "yard.toml")
    assert (ended.code, ended.err) == (0, "")
    for words in (
        'feature 6 "foot gate"',
        'gate of "west fence"',
        "Check this",
        "54°04′12.0″ N, 6°24′36.0″ E",
        "Written  yard.toml",
        "Next     fencecast check yard.toml",
        "--near LAT,LON",
    ):
        assert words in ended.out
    assert "schema = 2" in (folder / "yard.toml").read_text()


def test_json(folder):
    ended = typed("from-map", "yard.geojson", "-o", "yard.toml", "--json")
    said = json.loads(ended.out)
    assert (said["written"], said["counts"]["fences"], said["counts"]["cameras"], len(said["taken"])) == (True, 4, 2, 9)
    assert said["counts"]["fence_m"] == pytest.approx(40 + 30 + 2 * 20.396 + 30, abs=0.05)


def test_nothing_is_written_when_anything_is_wrong(folder):
    """Exit 2, every problem numbered, no file; catches half a site."""
    bad = geojson(*yard(), building("shed", (10, 20), (20, 26), (20, 20), (10, 26)), feature("gate", "Point", [6.41, 54.0705]))
    (folder / "bad.geojson").write_bytes(bad)
    ended = typed("from-map", "bad.geojson", "-o", "yard.toml")
    assert (ended.code, ended.out) == (2, "")
    assert ended.err.startswith("Error: bad.geojson: 2 problems\n  1. ")
    assert not (folder / "yard.toml").exists()
    ended = typed("from-map", "bad.geojson", "-o", "yard.toml", "--leave-out")
    assert ended.code == 0
    assert "Left out" in ended.out


def test_an_existing_file_is_kept(folder):
    (folder / "yard.toml").write_text("mine")
    ended = typed("from-map", "yard.geojson", "-o", "yard.toml")
    assert ended.code == 2
    assert "yard.toml exists already; type --force to replace it" in ended.err
    assert (folder / "yard.toml").read_text() == "mine"
    assert typed("from-map", "yard.geojson", "-o", "yard.toml", "--force").code == 0


def test_update_in_place(folder):
    """Needs --force; says what was not drawn; a second time there is nothing to change."""
    typed("from-map", "yard.geojson", "-o", "yard.toml")
    (folder / "one.geojson").write_bytes(
        geojson(camera("K1", (2, 2), (21, 1.5), kind="camera"), fence("quay", (0, 0), (40, 0), kind="result"))
    )
    ended = typed("from-map", "one.geojson", "--update", "yard.toml", "-o", "yard.toml")
    assert "type --force to bring it up to date in place" in ended.err
    ended = typed("from-map", "one.geojson", "--update", "yard.toml", "-o", "yard.toml", "--force")
    assert ended.code == 0
    assert "In the file, not in the drawing" in ended.out
    assert "Changed in the file" in ended.out
    assert "camera K1" in ended.out.split("Changed in the file")[1]
    assert "camera K2" in ended.out
    ended = typed("from-map", "one.geojson", "--update", "yard.toml", "-o", "yard.toml", "--force")
    assert "Nothing to change in yard.toml: not written" in ended.out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("-o", "yard.txt"), "ends in .toml; type for instance -o yard.toml"),
        (("-o", "no/yard.toml"), "no/yard.toml cannot be written: no does not exist; make it first"),
        (("-o", "y.toml", "--near", "here"), "is no place: type latitude and longitude"),
        (("-o", "y.toml", "--fit"), "--fit needs the file to place"),
        (("-o", "y.toml", "--as", "x=tree"), "type WORD=KIND with a kind of fence"),
        (("-o", "y.toml", "--update", "none.toml"), "there is no such file"),
    ],
)
def test_wrong_options(folder, words, said):
    ended = typed("from-map", "yard.geojson", *words)
    assert ended.code == 2
    assert said in ended.err.replace("\n", " ")
    assert [each.name for each in folder.iterdir()] == ["yard.geojson"]


def test_fit(folder):
    """A file without a place gets one from two drawn points."""
    typed("from-map", "yard.geojson", "-o", "yard.toml", "--origin", "54.07,6.41")
    text = (folder / "yard.toml").read_text()
    (folder / "plain.toml").write_text(text.replace("[map]\nlatitude = 54.07\nlongitude = 6.41\n", ""))
    points = [
        feature(n, "Point", [6.41 + x / 65465.7, 54.07 + y / 111306.4])
        for n, x, y in (("K1", 1, 2), ("K2", 39, 29), ("east fence end", 40, 30))
    ]
    (folder / "points.geojson").write_bytes(geojson(*points))
    ended = typed("from-map", "points.geojson", "--fit", "--update", "plain.toml", "-o", "placed.toml")
    assert ended.code == 0, ended.err
    assert "3 points, scale 1.000" in ended.out
    assert "[map]" in (folder / "placed.toml").read_text()


@pytest.fixture
def site(folder):
    typed("from-map", "yard.geojson", "-o", "yard.toml", "--origin", "54.07,6.41")
    return folder


def test_to_map_writes_a_folder(site):
    """Two files and a manifest; the folder is kept without --force; a warning that it tells of weakness."""
    ended = typed("to-map", "yard.toml")
    assert ended.code == 0, ended.err
    assert sorted(each.name for each in (site / "yard-map").iterdir()) == ["manifest.json", "site.geojson", "site.kml"]
    assert "keep it as you keep the keys" in ended.out.replace("\n", " ")
    assert typed("to-map", "yard.toml").code == 2
    assert typed("to-map", "yard.toml", "--force", "--format", "gpx", "--design").code == 0
    said = json.loads(typed("to-map", "yard.toml", "-o", "d", "--design", "--json").out)
    assert said["features"] == {"fence": 4, "gate": 2, "building": 1, "camera": 2, "rule": 4}


def test_a_design_tells_no_weakness(site):
    """No view, no blind ground, no Pd, no warning: catches a property that slipped through."""
    typed("to-map", "yard.toml", "--design")
    for file in ("site.geojson", "site.kml"):
        text = (site / "yard-map" / file).read_text()
        for word in ("view", "blind", '"pd', "weak", "miss", "verdict"):
            assert word not in text, word


def test_to_map_without_a_place(site):
    """Refused with what to do; --no-location puts the yard at 0 N 0 E and says so in the file."""
    text = (site / "yard.toml").read_text()
    (site / "plain.toml").write_text(text.replace("[map]\nlatitude = 54.07\nlongitude = 6.41\n", ""))
    ended = typed("to-map", "plain.toml")
    assert ended.code == 2
    assert "--fit" in ended.err
    ended = typed("to-map", "yard.toml", "--no-location")
    text = (site / "yard-map" / "site.geojson").read_text()
    assert "The yard is put at 0 N 0 E" in text
    numbers = [n for f in json.loads(text)["features"] for n in _numbers(f["geometry"]["coordinates"])]
    assert numbers
    assert max(abs(n) for n in numbers) < 0.01
    assert "54." not in ended.out
    assert typed("to-map", "yard.toml", "-o", "g", "--no-location", "--format", "gpx").code == 2


def _numbers(value):
    return [n for part in value for n in _numbers(part)] if isinstance(value, list) else [value]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("yard.toml", "--weather", "fog"), "--weather needs results"),
        (("nothing.nc",), "does not exist"),
        (("nothing.toml",), "there is no such file"),
    ],
)
def test_to_map_refuses(site, words, said):
    ended = typed("to-map", *words)
    assert ended.code == 2
    assert said in ended.err.replace("\n", " ")
    assert not (site / "yard-map").exists()
