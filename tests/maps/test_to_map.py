"""A site onto the map and back: what `to-map` writes is what `from-map` reads, and what an independent reader opens."""

from __future__ import annotations

import json
import re
from pathlib import Path

import numpy as np
import pytest

from fencecast.camera import WAIST_M
from fencecast.estimate.sight import hidden_by, hiders_of, views_of
from fencecast.maps.asked import Asked
from fencecast.maps.fit import with_map
from fencecast.maps.frommap import make_site
from fencecast.maps.grid import Grid
from fencecast.maps.things import Sheet, Thing, site_things
from fencecast.maps.writing import FORMATS, kml_text
from fencecast.show.map.results import design_styles, result_things, styles
from fencecast.show.map.views import view_area, view_things
from fencecast.site import parse_site

CONFIGS = Path(__file__).parents[2] / "configs"
GRIDS = [
    Grid(54.07, 6.41), Grid(54.07, 6.41, 37.5), Grid(-41.3, 179.9999, 200.0, 120.0), Grid(69.0, 18.0, 355.0),
    Grid(0.0, 0.0005, 90.0),
]  # fmt: skip
NAMES = ("estuary-yard", "marsh-depot", "gap-under-mast", "one-camera")


def placed(name: str, grid: Grid):
    text = (CONFIGS / f"{name}.toml").read_text(encoding="utf-8")
    if "marsh" in name:  # its own [site] has a place
        text = re.sub(r"(?m)^(latitude|longitude) = .*\n", "", text)
    return parse_site(with_map(text, grid))


def sheet(site, grid: Grid, things=None) -> Sheet:
    return Sheet(site.title, "words", [t.on_map(grid) for t in things or site_things(site, grid)], design_styles())


def points_of(site) -> np.ndarray:
    parts = [p.points_m for p in site.perimeter] + [o.footprint_m for o in site.obstacle] + [[c.position_m for c in site.camera]]
    parts += [[(g.from_m, g.to_m) for p in site.perimeter for g in p.gates] or [(0, 0)]]
    parts += [r.points_m for r in site.rule if r.points_m] + [m.points_m for m in site.mounting]
    return np.vstack([np.array(part, dtype=float) for part in parts])


@pytest.mark.parametrize("form", ["geojson", "kml", "kmz"])
@pytest.mark.parametrize("grid", GRIDS, ids=str)
def test_there_and_back_within_a_millimetre(tmp_path, form, grid):
    """Every point, gate and bearing of the demo on five grids, made into a new site: catches a digit lost, an area's winding that
    turns a fence, a bearing from the wrong north."""
    site = placed("estuary-yard", grid)
    content = FORMATS[form](sheet(site, grid))
    path = tmp_path / f"y.{form}"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    options = {"origin": (grid.latitude, grid.longitude), "grid_north_deg": grid.grid_north_deg, "elevation_m": grid.elevation_m}
    back = make_site([str(path)], Asked(**options)).site
    assert np.abs(points_of(back) - points_of(site)).max() < 0.001
    assert [c.mark for c in back.camera] == [c.mark for c in site.camera]
    for one, two in zip(site.camera, back.camera):
        assert (two.bearing_deg - one.bearing_deg + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=2e-9)
        assert two.depression_deg == pytest.approx(one.depression_deg, abs=1e-9)
        assert (two.height_m, two.lens, two.depends_on) == (one.height_m, one.lens, one.depends_on)
    assert [(r.kind, r.perimeter, r.offset_m, r.cameras) for r in back.rule] == [
        (r.kind, r.perimeter, r.offset_m, r.cameras) for r in site.rule
    ]
    assert [(p.inside, p.barrier, p.closed) for p in back.perimeter] == [(p.inside, p.barrier, p.closed) for p in site.perimeter]


@pytest.mark.parametrize(
    "name", [*NAMES, *(p.stem for p in (Path(__file__).parents[2] / "sim/fencecast/evidence/sites").glob("*.toml"))]
)
def test_its_own_export_changes_nothing(tmp_path, name):
    """from-map --update with what to-map wrote gives the file back, byte for byte."""
    home = CONFIGS if name in NAMES else CONFIGS.parent / "sim/fencecast/evidence/sites"
    grid = Grid(54.07, 6.41, 12.0)
    text = (home / f"{name}.toml").read_text(encoding="utf-8")
    text = with_map(re.sub(r"(?m)^(latitude|longitude) = .*\n", "", text), grid)
    (tmp_path / "old.toml").write_text(text, encoding="utf-8")
    (tmp_path / "y.geojson").write_text(FORMATS["geojson"](sheet(parse_site(text), grid)), encoding="utf-8")
    made = make_site([str(tmp_path / "y.geojson")], Asked(update=str(tmp_path / "old.toml")))
    assert made.text == text
    assert made.not_drawn == []


@pytest.fixture(scope="module")
def results():
    """Invented results of a yard of four sections and six classes, with a place on the map."""
    from show.invented_results import yard

    made = yard()
    made.attrs["site_toml"] = with_map(made.attrs["site_toml"], GRIDS[1])
    return made


def test_results_as_data(results):
    """A line for each segment with what the results say of it: catches a class or a segment that slipped by one."""
    things = [t for t in result_things(results) if not t.kml_only]
    assert len(things) == results.sizes["segment"]
    for i in (0, 7, results.sizes["segment"] - 1):
        keys = things[i].properties
        assert keys["place"] == str(results["segment"].values[i])
        assert keys["pd"] == pytest.approx(float(results["pd_worst"].values[i]))
        assert keys["weather"] == str(results["worst_weather"].values[i])
        assert keys["heavy_rain_pd"] == pytest.approx(float(results["pd"].sel(weather="heavy rain").values[i]))
        length = np.hypot(*np.diff(things[i].rings[0], axis=0).T).sum()
        assert length == pytest.approx(keys["to_m"] - keys["from_m"], abs=1e-9)
        middle = np.array([float(results[k].values[i]) for k in ("x_m", "y_m")])
        assert np.abs(things[i].rings[0].mean(axis=0) - middle).max() < 2.0
    year = result_things(results, "year")[3].properties
    assert year["pd"] == pytest.approx(float(results["pd_year"].values[3]))
    rain = result_things(results, "heavy rain")[3].properties
    assert (rain["weather"], rain["pd"]) == ("heavy rain", pytest.approx(rain["heavy_rain_pd"]))


def test_bands_lie_outside_the_fence(results):
    """2 m wide, from 0.3 m off the fence, never inside the yard: catches a page's y that was not turned back."""
    import shapely

    site = parse_site(results.attrs["site_toml"])
    yard = shapely.Polygon([point for p in site.perimeter for point in p.points_m[:-1]])
    line = shapely.LineString(yard.exterior)
    for thing in result_things(results):
        for quad in thing.band:
            polygon = shapely.Polygon(quad)
            assert polygon.intersection(yard).area < 1e-9
            assert polygon.hausdorff_distance(line) >= 0.3
            assert 0.29 < polygon.distance(line) < 0.35
            assert max(shapely.Point(p).distance(line) for p in quad) < 2.3 * 2.5


def test_weak_runs_are_black_lines(results):
    """As many metres of line as the results have weak: catches a verdict that is drawn beside another's segment."""
    things = [t for t in result_things(results, "heavy rain") if t.kml_only and t.style == "weak"]
    row = results.sel(weather="heavy rain")
    lengths = (results["segment_end_m"] - results["segment_start_m"]).values
    weak_m = float(lengths[row["verdict"].values == "weak"].sum())
    drawn_m = sum(np.hypot(*np.diff(t.rings[0], axis=0).T).sum() for t in things)
    assert weak_m > 10.0
    assert drawn_m == pytest.approx(weak_m, abs=2.3 * 2 * len(things))


def test_an_independent_reader_opens_both(tmp_path):
    """GDAL counts the features and finds the same places: catches a file that only we can read."""
    import pyogrio

    grid = GRIDS[1]
    site = placed("estuary-yard", grid)
    things = [*site_things(site, grid), *view_things(site)]
    for form in ("geojson", "kml"):
        path = tmp_path / f"y.{form}"
        path.write_text(FORMATS[form](sheet(site, grid, things)), encoding="utf-8")
        layers = [layer for layer, _ in pyogrio.list_layers(path)]
        counts = [pyogrio.read_info(path, layer=layer)["features"] for layer in layers]
        assert sum(counts) == len(things)
    assert len(layers) == len({thing.folder for thing in things})
    meta, _, geometry, _ = pyogrio.raw.read(tmp_path / "y.geojson")
    assert meta["crs"] == "EPSG:4326"
    import shapely

    west, south, east, north = shapely.from_wkb(geometry[0]).bounds
    assert np.allclose(grid.to_site(np.array([(west, south), (east, north)])), [(0, 0), (48, 0)], atol=40)


def test_rings_are_anticlockwise():
    """RFC 7946 3.1.6; catches a building or a view that a strict reader takes for all of the world but it."""
    site = placed("estuary-yard", GRIDS[1])
    said = json.loads(FORMATS["geojson"](sheet(site, GRIDS[1], [*site_things(site, GRIDS[1]), *view_things(site)])))
    areas = [f["geometry"]["coordinates"] for f in said["features"] if f["geometry"]["type"] == "Polygon"]
    assert len(areas) > 10
    for (ring,) in areas:
        points = np.array(ring)
        assert ring[0] == ring[-1]
        x, y = (points - points[0]).T
        assert np.sum(x[:-1] * y[1:] - x[1:] * y[:-1]) > 0.0
    assert "crs" not in said


def test_views_are_where_a_waist_is_seen():
    """Points drawn at random against the reading of each point by itself (`in_frame`, `hidden_by`), 1 m off the border: catches a
    shadow on the wrong side, a frame that is turned."""
    import shapely

    site = placed("estuary-yard", GRIDS[0])
    random = np.random.default_rng(5)
    for camera in views_of(site):
        area = view_area(camera, hiders_of(site), 60.0)
        border = area.boundary
        for x, y in random.uniform((-5.0, -5.0), (53.0, 42.0), (150, 2)):
            point = shapely.Point(x, y)
            slant = np.hypot(camera.distance_m(x, y), camera.height_m - WAIST_M)
            if (
                border.distance(point) < 1.0
                or abs(slant - 60.0) < 1.0
                or any(h.footprint.distance(point) < 0.5 for h in hiders_of(site))
            ):
                continue
            seen = camera.in_frame(x, y, WAIST_M) and slant < 60.0 and hidden_by(camera, hiders_of(site), x, y, WAIST_M) is None
            assert area.contains(point) == seen, (camera.mark, x, y)


def test_gpx_holds_places_and_no_result():
    site = placed("estuary-yard", GRIDS[0])
    text = FORMATS["gpx"](sheet(site, GRIDS[0]))
    assert text.count("<wpt ") == len(site.camera) + sum(len(p.points_m) for p in site.perimeter)
    assert text.count("<trk>") == 4
    assert "Pd" not in text


def test_kml_has_nothing_to_fetch_and_known_colours():
    """No link, icon or template; #9F4415 is ff15449f. Catches red and blue swapped."""
    looks = styles(0.9) | design_styles()
    shown = [Thing("result", "r", "line", (np.zeros((2, 2)),), {}, "results", look) for look in looks]
    text = kml_text(Sheet("t", "w", shown, looks))
    assert not re.findall(r"<(href|Icon|BalloonStyle|NetworkLink|Overlay)", text)
    assert "15449f</color>" in text
    # Texts of users are escaped, and what XML cannot hold is left out.
    assert "<name>a &amp; &lt;b&gt;c</name>" in kml_text(Sheet("a & <b>\x07c", "", []))


def test_children_stand_in_the_order_of_the_schema():
    """KML 2.2 is a sequence: name, visibility, styleUrl, ExtendedData, geometry."""
    site = placed("estuary-yard", GRIDS[0])
    text = kml_text(sheet(site, GRIDS[0], view_things(site)))
    for placemark in re.findall(r"<Placemark>(.*?)</Placemark>", text):
        found = re.findall(r"<(name|visibility|styleUrl|ExtendedData|Polygon|LineString|Point|MultiGeometry)\b", placemark)
        order = [found.index(tag) for tag in ("name", "visibility", "styleUrl", "ExtendedData")]
        assert order == sorted(order)
        assert found[-1] in ("Polygon", "MultiGeometry")


def test_findings_lie_along_the_fence():
    """A stretch with a bend in it: its length is that of its metres, and --design writes none. Catches a section taken by
    another number, a straight line across a bend."""
    from types import SimpleNamespace

    import fencecast as fc

    site = placed("estuary-yard", GRIDS[1])
    span = SimpleNamespace(section=2, start_m=20.0, end_m=32.0)
    found = SimpleNamespace(
        id="under-mast", severity="stop", object="camera T5", value=12.0, limit=0.0, unit="m", spans=(span,), kind="camera"
    )
    said = json.loads(fc.to_map(site, ["geojson"], findings=[found])["geojson"])
    (line,) = [f for f in said["features"] if f["properties"]["kind"] == "finding"]
    points = GRIDS[1].to_site(np.array(line["geometry"]["coordinates"]))
    assert len(points) == 3
    assert np.hypot(*np.diff(points, axis=0).T).sum() == pytest.approx(12.0, abs=1e-3)
    assert (line["properties"]["section"], line["properties"]["measured"]) == ("north fence", 12.0)
    assert "finding" not in fc.to_map(site, ["geojson"], design=True, findings=[found])["geojson"]
