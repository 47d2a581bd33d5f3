"""Plain words for keys, and properties that are not taken: nothing that a drawing says vanishes without a word."""

from __future__ import annotations

import pytest

from fencecast.maps.asked import Asked
from fencecast.maps.frommap import make_site
from maps.drawn import at, building, camera, feature, fence, geojson, kml


@pytest.fixture
def made(tmp_path):
    def make(content: bytes, file="yard.geojson", **options):
        (tmp_path / file).write_bytes(content)
        return make_site([str(tmp_path / file)], Asked(**options))

    return make


@pytest.mark.parametrize("word", ["heading", "bearing", "azimuth", "Facing"])
def test_a_direction_in_plain_words(made, word):
    """60 degrees from true north on a grid turned by 10: catches a word that is dropped, and one that is not turned."""
    out = made(geojson(fence(), feature("K1", "Point", at(2, 2), kind="camera", **{word: "60 deg"})), grid_north_deg=10.0)
    assert out.site.camera[0].bearing_deg == pytest.approx(50.0)
    assert f'feature 2 "K1": {word} read as bearing_deg' in out.report.notes
    assert "aim_m" not in {key for _, key, _ in out.report.checks}


def test_heights_and_widths_in_plain_words(made):
    """8 ft are 2.4384 m: catches feet taken for metres."""
    drawn = [
        fence(height="8 ft"), camera("K1", kind="camera", height_ft=14), building("hall building", height_ft="20"),
        feature("gate", "Point", at(20, 0), width=3),
    ]  # fmt: skip
    out = made(geojson(*drawn))
    site = out.site
    assert site.perimeter[0].barrier_height_m == pytest.approx(2.4384)
    assert site.camera[0].height_m == pytest.approx(4.2672)
    assert site.obstacle[0].height_m == pytest.approx(6.096)
    gate = site.perimeter[0].gates[0]
    assert gate.to_m - gate.from_m == pytest.approx(3.0, abs=1e-3)
    assert out.report.passed == {}
    assert len([note for note in out.report.notes if " read as " in note]) == 4


def test_facing_in_a_description(made):
    text = kml(fence(), feature("K1", "Point", at(2, 2), kind="camera")).replace(
        b"<name>K1</name>", b"<name>K1</name><description>facing 60&lt;br&gt;fov: 90&lt;br&gt;on the mast</description>"
    )
    out = made(text, "y.kml")
    assert out.site.camera[0].bearing_deg == pytest.approx(60.0)
    assert out.report.passed == {'feature 2 "K1"': ["fov"]}


def test_what_is_not_taken_is_said(made):
    """With what it may stand for; what map programs keep for themselves is not listed."""
    K1 = feature("K1", "Point", at(2, 2), kind="camera", direction=60, fov=50, range="40 m", width_m=3, fid=7, stroke="#ff0000")
    out = made(geojson(fence(owner="ours"), K1, fence("lorry gate", (10, 0), (16, 0), width=4)))
    assert out.report.passed == {
        'feature 1 "south fence"': ["owner"],
        'feature 2 "K1"': ["direction (did you mean bearing_deg?)", "fov", "range", "width_m"],
        'feature 3 "lorry gate"': ["width (this gate is as wide as it is drawn)"],
    }
    assert "no direction was drawn" not in out.text


def test_the_key_goes_before_the_word(made):
    out = made(geojson(fence(), feature("K1", "Point", at(2, 2), kind="camera", heading=10, bearing_deg=90)))
    assert out.site.camera[0].bearing_deg == pytest.approx(90.0)
    assert out.report.passed == {'feature 2 "K1"': ["heading (bearing_deg goes first)"]}


def test_a_line_that_looks_elsewhere_is_said(made):
    """Drawn to the east, and 60 given: 30 degrees apart; catches a direction that wins in silence."""
    out = made(geojson(fence(), camera("K1", (1, 2), (21, 2), kind="camera", heading=60)))
    assert out.site.camera[0].bearing_deg == pytest.approx(60.0)
    assert 'feature 2 "K1": bearing_deg was taken; where it is drawn to look lies 30 degrees from it' in out.report.notes
    assert not [n for n in made(geojson(fence(), camera("K1", kind="camera", heading=89))).report.notes if "degrees from" in n]


def test_metres_of_a_gate_move_no_gate(made):
    out = made(geojson(fence(), camera(), fence("lorry gate", (10, 0), (16, 0), from_m=20)))
    assert out.site.perimeter[0].gates[0].from_m == pytest.approx(10.0, abs=0.01)
    assert out.report.passed == {'feature 3 "lorry gate"': ["from_m (a gate lies where it is drawn)"]}


def test_the_command_prints_what_was_not_taken(made, tmp_path):
    """On the terminal and as JSON: catches a list that only the program knows."""
    from fencecast.findings.frommap import from_map_blocks, from_map_object

    said = from_map_object(made(geojson(fence(), camera("K1", kind="camera", fov=50))), "y.toml", True)
    assert said["not_taken"] == [{"feature": 'feature 2 "K1"', "properties": ["fov"]}]
    texts = [getattr(block, "text", "") for block in from_map_blocks(said, False, "fencecast check y.toml")]
    assert 'feature 2 "K1": fov' in texts
