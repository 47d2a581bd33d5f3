"""An older file brought up to date, and placed on the map: what was not drawn stays, comments too."""

from __future__ import annotations

import difflib
from pathlib import Path

import numpy as np
import pytest

from fencecast.errors import InputError, UsageError
from fencecast.maps.asked import Asked
from fencecast.maps.fit import fit_grid, fit_site, named_places, with_map
from fencecast.maps.frommap import make_site
from fencecast.maps.grid import Grid
from fencecast.site import load_site, parse_site
from maps.drawn import at, building, camera, feature, fence, geojson, line, yard

CONFIGS = Path(__file__).parents[2] / "configs"
OLD = """\
# A yard with comments.
schema = 2
title = "Yard"

[site]
ground = "asphalt" # measured
[map]
latitude = 54.07
longitude = 6.41

[[perimeter]]
name = "south fence"
points_m = [[0.0, 0.0], ["40 m", 0.0]] # surveyed
inside = "left"
gates = [{ name = "gate", from_m = 3.0, to_m = 7.0 }]

[sensors.s]
columns = 160
rows = 120
pitch_um = 17.0
netd_mk = 50.0

[lenses.l]
focal_length_mm = 6.0
f_number = 1.0

[[camera]] # the first
mark = "K1"
position_m = [1.0, 2.0] # by the gate
height_m = "14 ft"
aim_m = [21.0, 2.0]
sensor = "s"
lens = "l"

# ---- the rules

[[rule]]
kind = "line"
perimeter = "south fence"
offset_m = 1.5

[[weather]]
name = "clear night"
hours_per_year = 3000
air_temperature_c = 6.0
relative_humidity = 0.8
ground_minus_air_k = -2.0
"""


@pytest.fixture
def update(tmp_path):
    (tmp_path / "old.toml").write_text(OLD)

    def make(*features, **options):
        (tmp_path / "y.geojson").write_bytes(geojson(*features))
        return make_site([str(tmp_path / "y.geojson")], Asked(update=str(tmp_path / "old.toml"), **options))

    return make


def changes(new: str, old: str = OLD) -> list[str]:
    return [
        row
        for row in difflib.unified_diff(old.splitlines(), new.splitlines(), lineterm="", n=0)
        if row[:1] in "+-" and row[:3] not in ("+++", "---")
    ]


def exact(x: float, y: float) -> list[float]:
    return [float(v) for v in Grid(54.07, 6.41).to_map(np.array([x, y]))[0]]


def test_a_moved_camera_changes_one_line(update):
    """Its comment stays, and so does everything else: catches a file that is written anew."""
    made = update(feature("K1", "Point", exact(2.0, 2.5), kind="camera", bearing_deg=90, depression_deg=12))
    assert sorted(changes(made.text)) == sorted(
        [
            "-position_m = [1.0, 2.0] # by the gate",
            "+position_m = [2.0, 2.5] # by the gate",
            "-aim_m = [21.0, 2.0]",
            "+bearing_deg = 90.0",
            "+depression_deg = 12.0",
        ]
    )
    assert made.not_drawn == ["perimeter south fence"]


def test_what_changed_is_listed(update):
    """Thing, key, old and new, whatever became of it: catches a change that the report keeps to itself."""
    drawn = [feature("K1", "Point", exact(2.0, 2.5), kind="camera", bearing_deg=90, depression_deg=12), building()]
    made = update(*drawn)
    assert made.report.changes == [
        ("camera K1", "position_m", "[1.0, 2.0]", "[2.0, 2.5]"),
        ("camera K1", "bearing_deg", "", "90.0"),
        ("camera K1", "depression_deg", "", "12.0"),
        ("camera K1", "aim_m", "[21.0, 2.0]", "taken out"),
        ("obstacle shed", "", "", "new"),
    ]


def test_a_guessed_aim_moves_with_its_camera(update, tmp_path):
    """20 m along the fence from where it stands now; catches an old guess that stays, and an aim of the owner's that goes."""
    moved = feature("K1", "Point", exact(4.0, 2.0), kind="camera")
    assert update(moved).site.camera[0].bearing_deg == pytest.approx(90.0)
    (tmp_path / "old.toml").write_text(OLD.replace("aim_m = [21.0, 2.0]", "aim_m = [21.0, 2.0] # check this: along it"))
    made = update(moved)
    assert ("camera K1", "aim_m", "[21.0, 2.0]", "[24.0, 0.0]") in made.report.changes
    assert 'aim_m = [24.0, 0.0] # check this: along "south fence"' in made.text
    standing = update(feature("K1", "Point", exact(1.0, 2.0), kind="camera"))
    assert standing.unchanged


def test_what_did_not_move_is_not_touched(update):
    """Half a millimetre, a length with a unit, an aim that the angles repeat: catches rounding that rewrites a file."""
    made = update(
        feature("south fence", "LineString", [exact(0.0, 0.0005), exact(40.0, 0.0)]),
        feature("K1", "LineString", [exact(1.0, 2.0), exact(21.0, 2.0)], kind="camera", height_m=4.2672),
    )
    assert made.text == OLD
    assert made.unchanged


def test_new_things_go_behind_their_kind(update):
    """Before the comment that heads the rules, with a rule for the new fence; twice changes nothing more."""
    drawn = [
        feature("east fence", "LineString", [exact(40, 0), exact(40, 30)]),
        feature("K2", "LineString", [exact(39, 29), exact(39, 9)], kind="camera"),
        building("shed", (10, 10), (20, 10), (20, 16)),
    ]
    made = update(*drawn)
    text = made.text
    assert (
        text.index('mark = "K1"')
        < text.index('mark = "K2"')
        < text.index("# ---- the rules")
        < text.index('perimeter = "east fence"')
    )
    site = made.site
    assert [p.name for p in site.perimeter] == ["south fence", "east fence"]
    assert [(c.mark, c.sensor) for c in site.camera] == [("K1", "s"), ("K2", "s")]
    assert [r.offset_m for r in site.rule] == [1.5, 0.5]
    assert not [row for row in changes(text) if row.startswith("-")]


def test_twice_is_once(update, tmp_path):
    drawn = [
        feature("east fence", "LineString", [exact(40, 0), exact(40, 30)]),
        feature("K1", "Point", exact(3, 3), kind="camera"),
    ]
    first = update(*drawn).text
    (tmp_path / "old.toml").write_text(first)
    assert update(*drawn).text == first


def test_drawn_the_other_way_round(update):
    """The inside stays on the same side of the ground: catches a section that is reversed in silence."""
    made = update(feature("south fence", "LineString", [exact(44.0, 0.0), exact(0.0, 0.0)]))
    assert made.site.perimeter[0].inside == "right"
    assert any("other way round" in note for note in made.report.notes)
    assert '"south fence" moved: its gates keep their metres along the fence' in made.report.notes


def test_tables_that_are_not_together(update, tmp_path):
    """tomlkit would move them: refused with what to do."""
    lines = OLD.split("[[weather]]")
    (tmp_path / "old.toml").write_text(
        lines[0] + '[[camera]]\nmark = "K9"\nposition_m = [5.0, 2.0]\nheight_m = 4.0\naim_m = [21.0, 2.0]\n'
        'sensor = "s"\nlens = "l"\n\n[[rule]]\nkind = "line"\nperimeter = "south fence"\n\n[[weather]]' + lines[1]
    )
    with pytest.raises(InputError, match="tables of one kind are not together"):
        update(feature("K1", "Point", exact(3, 3), kind="camera"))


@pytest.mark.parametrize("name", ["estuary-yard", "marsh-depot", "gap-under-mast", "one-camera"])
def test_a_map_put_into_a_file_changes_nothing_else(name):
    text = (CONFIGS / f"{name}.toml").read_text(encoding="utf-8")
    new = with_map(text, Grid(54.07, 6.41, 12.5))
    assert all(row.startswith("+") for row in changes(new, text))
    added = [row for row in changes(new, text) if row.strip("+ ")]
    assert len(added) == 4


@pytest.mark.parametrize(
    ("lat", "lon", "north"), [(54.07, 6.41, 0.0), (54.07, 6.41, 37.5), (-41.3, 179.9999, 200.0), (69.0, 18.0, 355.0)]
)
def test_fit_finds_the_grid(lat, lon, north):
    """From exact places to the grid that made them, within 1 mm and 0.001 degrees: catches a turn of the wrong sign."""
    grid = Grid(lat, lon, north)
    xy = np.array([(0.8, 1.2), (47.2, 1.2), (46.8, 32.0), (1.0, 32.0)])
    lonlat = grid.to_map(xy)
    lonlat[:, 0] += 360.0 * np.round((lonlat[0, 0] - lonlat[:, 0]) / 360.0)
    found, scale, residuals = fit_grid(xy, lonlat)
    assert scale == pytest.approx(1.0, abs=1e-6)
    assert residuals.max() < 0.001
    assert found.grid_north_deg == pytest.approx(north, abs=0.001)
    assert np.abs(grid.to_site(found.to_map(np.zeros(2)))).max() < 0.001


def test_fit_of_a_file(tmp_path):
    """Camera marks, ends and corners are known; a scale of feet is refused with its number."""
    path = CONFIGS / "estuary-yard.toml"
    places = named_places(load_site(path))
    grid = Grid(54.07, 6.41, 20.0)
    names = ["T1", "north fence end", "corner 3 of workshop"]
    points = [feature(n, "Point", [float(v) for v in grid.to_map(np.array(places[n]))[0]]) for n in (*names, "T1")]
    (tmp_path / "p.geojson").write_bytes(geojson(*points, feature("tree", "Point", at(0, 0))))
    fitted = fit_site([str(tmp_path / "p.geojson")], str(path))
    assert [name for name, _ in fitted.residuals] == names
    assert fitted.unknown == ("T1", "tree")
    assert parse_site(fitted.text).map.grid_north_deg == pytest.approx(20.0, abs=0.001)
    far = [feature(n, "Point", [float(v) for v in grid.to_map(np.array(places[n]) * 3.2808)[0]]) for n in names]
    (tmp_path / "p.geojson").write_bytes(geojson(*far))
    with pytest.raises(UsageError, match="3.2808 times as far apart"):
        fit_site([str(tmp_path / "p.geojson")], str(path))
    (tmp_path / "p.geojson").write_bytes(geojson(points[0]))
    with pytest.raises(UsageError, match="needs two or more points"):
        fit_site([str(tmp_path / "p.geojson")], str(path))


def test_a_file_without_a_map_needs_a_place(tmp_path):
    (tmp_path / "old.toml").write_text(OLD.replace("[map]\nlatitude = 54.07\nlongitude = 6.41\n", ""))
    (tmp_path / "y.geojson").write_bytes(geojson(*yard()))
    with pytest.raises(UsageError, match="has no \\[map\\]"):
        make_site([str(tmp_path / "y.geojson")], Asked(update=str(tmp_path / "old.toml")))


def test_near_is_where_the_old_file_lies(update):
    """Without --near: catches an update from a drawing of another place."""
    with pytest.raises(InputError, match=r"km from \[map\] of"):
        update(
            fence("south fence", (200_000, 0), (200_040, 0)),
            camera("K1", (200_001, 2), (200_020, 2), kind="camera"),
            feature("x", "LineString", line((0, 0), (1, 1))),
        )
