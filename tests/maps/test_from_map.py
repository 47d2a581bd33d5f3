"""From drawings to a site: what is recognised, what comes out, whatever the format."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fencecast.errors import InputError, UsageError
from fencecast.maps.asked import Asked
from fencecast.maps.frommap import make_site
from maps.drawn import at, building, camera, feature, fence, geojson, kml, kmz, line, turned, yard


@pytest.fixture
def made(tmp_path):
    """Write a drawing and read it."""

    def make(content: bytes, file="yard.geojson", **options):
        (tmp_path / file).write_bytes(content)
        return make_site([str(tmp_path / file)], Asked(**options))

    return make


def body(text: str) -> str:
    """Without the first line, which names the drawing."""
    return text.split("\n", 1)[1]


def test_a_yard_becomes_a_site(made):
    """Places, lengths, insides, gates and cameras against the metres it was made from (1 cm: a plane for the ellipsoid)."""
    site = made(geojson(*yard()), origin=(54.07, 6.41)).site
    assert [p.name for p in site.perimeter] == ["south quay", "east fence", "north fence", "west fence"]
    assert np.allclose(site.perimeter[2].points_m, [(40, 30), (20, 34), (0, 30)], atol=0.01)
    assert [p.inside for p in site.perimeter] == ["left"] * 4
    assert [p.barrier for p in site.perimeter] == ["none", "palisade", "mesh", "mesh"]
    assert site.perimeter[1].barrier_height_m == pytest.approx(2.4384)
    gate = site.perimeter[1].gates[0]
    assert (gate.name, gate.from_m, gate.to_m) == ("lorry gate", pytest.approx(10, abs=0.01), pytest.approx(16, abs=0.01))
    foot = site.perimeter[3].gates[0]
    assert (foot.from_m, foot.to_m) == (pytest.approx(17.25, abs=0.01), pytest.approx(18.75, abs=0.01))
    one, two = site.camera
    assert (one.mark, one.height_m, one.lens, one.depends_on) == ("K1", 4.5, "long", "south mast")
    assert one.bearing_deg == pytest.approx(math.degrees(math.atan2(20, -0.5)), abs=0.02)
    assert one.depression_deg == pytest.approx(math.degrees(math.atan2(4.5, math.hypot(20, 0.5))), abs=0.02)
    assert (two.bearing_deg, two.depression_deg) == (200.0, 13.0)
    assert [rule.perimeter for rule in site.rule] == [p.name for p in site.perimeter]
    assert site.site.latitude == site.map.latitude == 54.07


def test_the_file_runs(made):
    """The text is one that `run` packs: catches a default that the simulation refuses."""
    from fencecast.kernels.pack import pack_plan

    site = made(geojson(*yard())).site
    assert pack_plan(site, site.weather) is not None
    assert len(site.weather) == 4


def test_formats_give_the_same_text(made):
    """GeoJSON, KML and KMZ of one drawing, byte for byte: catches a reader that loses a digit or a property."""
    texts = [made(geojson(*yard(), name="Yard")).text]
    texts.append(made(kml(*yard(), title="Yard"), "yard.kml").text)
    texts.append(made(kmz(kml(*yard(), title="Yard")), "yard.kmz").text)
    assert body(texts[0]) == body(texts[1]) == body(texts[2])


def test_the_kind_may_stand_in_three_places(made):
    """A property, a layer or folder, a word of the name; catches one of the three forms not being read."""
    plain = [("Feld", (0, 0), (40, 0)), ("Rand", (40, 0), (40, 30))]
    by_layer = [feature(n, "LineString", line(*p), layer="Fences") for n, *p in plain]
    cam = camera("K1", kind="camera")
    assert len(made(geojson(*by_layer, cam)).site.perimeter) == 2
    folder = (
        kml(*[feature(n, "LineString", line(*p)) for n, *p in plain])
        .replace(b"<Document>", b"<Document><Folder><name>Old perimeter</name>")
        .replace(
            b"</Document>",
            b"</Folder><Folder><name>camera</name><Placemark><name>K1</name><Point><coordinates>%f,%f</coordinates></Point>"
            b"</Placemark></Folder></Document>" % tuple(at(2, 2)),
        )
    )
    site = made(folder, "y.kml").site
    assert [p.name for p in site.perimeter] == ["Feld", "Rand"]
    assert site.camera[0].mark == "K1"


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("tank fence", "fence"), ("fence by the shed", "fence"), ("Fences", "fence"), ("defence works", None),
        ("perimeter_north", "fence"),
        ("camera mast", "mounting"), ("old wall", None), ("container 4", "building"), ("Cam 3", "camera"),
        ("tank farm office", "building"),
        ("loading area", None),
        ("alarm area", "area"),
    ],
)  # fmt: skip
def test_words_of_names(name, kind):
    """Whole words, the last one that fits the shape; catches `defence` taken for a fence, and a loading area for a rule."""
    from fencecast.maps.features import AREA, LINE, POINT, Drawing, Feature
    from fencecast.maps.recognise import recognise

    shape = {"fence": LINE, "mounting": POINT, "camera": POINT}.get(kind, AREA)
    drawing = Drawing("y", "GeoJSON")
    drawing.features = [
        Feature("y", k, n, kd, "", s, (np.zeros((4, 2)),), {})
        for k, (n, kd, s) in enumerate([(name, "", shape), ("x", "camera", POINT)])
    ]
    found, _, _ = recognise(drawing, [])
    assert ([each.kind for each in found if each.feature.number == 0] or [None]) == [kind]


def test_an_unknown_kind_is_left_out(made):
    """A kind that is given and wrong goes before the name; catches a word of the name that beats it, and a guess by shape."""
    drawn = [fence(), camera(), fence("old fence", (0, 9), (30, 9), kind="fense"), building("shed", kind="tree")]
    out = made(geojson(*drawn))
    assert [p.name for p in out.site.perimeter] == ["south fence"]
    assert out.site.obstacle == ()
    left = dict(out.report.left)
    assert left['feature 3 "old fence"'].startswith("its kind 'fense' is not known, so it is not used; did you mean \"fence\"?")
    assert left['feature 4 "shed"'].endswith("name its kind if it is one of fence, building, mounting, rule, area, land")
    assert made(geojson(*drawn), words=["fense=fence"]).site.perimeter[1].name == "old fence"
    plain = [fence("a"), feature("b", "Point", at(2, 2)), building("c", kind="tree")]
    assert made(geojson(*plain)).site.obstacle == ()


def test_nothing_is_proposed_for_what_is_not_ours(made):
    """Catches a line that tells people to turn a layer of assets into cameras; an unknown layer has a note."""
    drawn = [fence(layer="Sketch"), camera(layer="Sketch"), feature("hydrant", "Point", at(9, 9), layer="Assets")]
    out = made(geojson(*drawn))
    words = dict(out.report.left)['feature 3 "hydrant"']
    assert "--as" not in words
    assert "name its kind if it is one of gate, camera, aim, mounting" in words
    assert out.report.notes == [
        'the layer or folder "Sketch" names no kind: feature 1 "south fence" and 1 more went by a word of the name'
    ]


def test_problems_of_every_stage_come_in_one_report(made):
    """A kind, a shape, a property and a clash of the site file: catches a stage that hides the next."""
    hall = building("hall building", (0.5, 1), (8, 1), (8, 8), (0.5, 8), height_m=9)
    drawn = [
        fence(), camera(), feature("store", "Point", at(5, 5), kind="building"), hall,
        building("shed", (10, 10), (20, 16), (20, 10), (10, 16)),
        feature("K2", "Point", at(9, 9), kind="camera", height_m="4 feet"),
    ]  # fmt: skip
    with pytest.raises(InputError) as caught:
        made(geojson(*drawn))
    heads = [str(problem).split(": ")[0] for problem in caught.value.problems]
    assert heads == ['feature 3 "store"', 'feature 5 "shed"', 'feature 6 "K2"', 'feature 2 "camera K1"']


def test_a_place_that_is_none_hides_no_shape(made):
    """A longitude of 500 and a bow tie: catches a stage of places that ends before shapes are looked at."""
    far = feature("K2", "Point", [500.0, 54.07], kind="camera")
    with pytest.raises(InputError) as caught:
        made(geojson(fence(), camera(), far, building("shed", (10, 10), (20, 16), (20, 10), (10, 16))))
    heads = [str(problem).split(": ")[0] for problem in caught.value.problems]
    assert heads == ['feature 3 "K2"', 'feature 4 "shed"']
    assert made(geojson(fence(), camera(), far), leave_out=True).site.map is not None


def test_a_fence_without_a_place_speaks_for_its_gates(made):
    """A fence whose longitude is 500, and the gate that lay on it: one problem."""
    lost = feature("east fence", "LineString", [[500.0, 54.07], [500.001, 54.07]])
    with pytest.raises(InputError) as caught:
        made(geojson(fence(), camera(), lost, feature("lorry gate", "Point", at(60, 10))))
    assert [str(problem).split(": ")[0] for problem in caught.value.problems] == ['feature 3 "east fence"']


def test_a_misspelt_kind_is_told_with_what_it_causes(made):
    """The only fence has a kind that is none: one problem that names it, and none about its gate."""
    drawn = [fence(kind="fense"), camera(), feature("gate", "Point", at(10, 0))]
    with pytest.raises(InputError) as caught:
        made(geojson(*drawn))
    (problem,) = caught.value.problems
    assert str(problem).startswith("there is no fence in it")
    assert "left out was feature 1 \"south fence\": its kind 'fense' is not known" in str(problem)


def test_a_fence_that_failed_speaks_for_its_gates(made):
    """No gate without a fence, no perimeter and no rule that is missing: one fault, one problem; a gate elsewhere is its own."""
    bow = fence("east fence", (40, 0), (60, 20), (60, 0), (40, 20))
    gate = feature("lorry gate", "Point", at(60, 10))
    for drawn in ([bow, gate, camera()], [fence(), bow, gate, camera()]):
        with pytest.raises(InputError) as caught:
            made(geojson(*drawn))
        assert len(caught.value.problems) == 1
        assert "cross or touch" in str(caught.value.problems[0])
    with pytest.raises(InputError) as caught:
        made(geojson(fence(), bow, feature("gate", "Point", at(10, 60)), camera()))
    assert len(caught.value.problems) == 2
    left = dict(made(geojson(fence(), bow, gate, camera()), leave_out=True).report.left)
    assert set(left) == {'feature 2 "east fence"', 'feature 3 "lorry gate"'}


def test_heights_of_zero_are_no_news(made):
    """KML writes them behind every point."""
    text = kml(fence(), camera()).replace(b" ", b",0 ").replace(b"</coordinates>", b",0</coordinates>")
    text = (
        text.replace(b'<?xml,0 version="1.0",0 encoding', b'<?xml version="1.0" encoding')
        .replace(b"<kml,0 ", b"<kml ")
        .replace(b"<Data,0 ", b"<Data ")
    )
    assert made(text, "y.kml").report.notes == []


def test_as_goes_first(made):
    site = made(geojson(fence("boundary", layer="A-WALL"), camera("K1", kind="camera")), words=["a-wall=fence"]).site
    assert site.perimeter[0].name == "boundary"
    with pytest.raises(UsageError, match="did you mean"):
        made(geojson(), words=["a=fense"])


def test_nothing_with_a_kind(made):
    """Lines are fences, areas buildings, points cameras, each to be checked; catches a silent guess."""
    made = made(geojson(fence("a"), feature("b", "Point", at(2, 2)), building("c")))
    assert (len(made.site.perimeter), len(made.site.obstacle), len(made.site.camera)) == (1, 1, 1)
    assert sum(key == "kind" for _, key, _ in made.report.checks) == 3


def test_every_default_is_marked(made):
    """Catches a default that nobody is asked to look at."""
    text = made(geojson(fence(), camera())).text
    for key in ("pd", "ground", "barrier", "barrier_height_m", "height_m", "sensor", "lens", "netd_mk", "offset_m", "title"):
        assert any(row.startswith(f"{key} = ") and "# check this" in row for row in text.splitlines()), key


def test_inside_by_ring_vote_and_default(made):
    """Catches a vote that counts the wrong side; the ring goes before the vote."""
    ring = [
        fence("a fence", (0, 0), (0, 30)),
        fence("b fence", (40, 30), (0, 30)),
        fence("c fence", (40, 30), (40, 0)),
        fence("d fence", (0, 0), (40, 0)),
    ]
    site = made(geojson(*ring, camera("K1", (-3, 5), (-3, 20), kind="camera"))).site
    assert [p.inside for p in site.perimeter] == ["right", "left", "right", "left"]
    vote = made(
        geojson(
            fence(),
            camera("K1", (5, -2), (20, -2), kind="camera"),
            camera("K2", (9, 2), (20, 2), kind="camera"),
            building("shed", (3, -9), (9, -9), (9, -4)),
        )
    )
    assert vote.site.perimeter[0].inside == "right"
    assert 'inside = "right"  # check this: 2 of 3 cameras and buildings stand there' in vote.text
    assert made(geojson(fence(inside="right"), camera())).site.perimeter[0].inside == "right"
    area = feature("fence", "Polygon", [line((0, 0), (0, 30), (40, 30), (40, 0), (0, 0))])
    assert (made(geojson(area, camera())).site.perimeter[0].closed, made(geojson(area, camera())).site.perimeter[0].inside) == (
        True,
        "right",
    )


def test_rule_lines(made):
    """A line along a fence follows it; another is turned so that the inside is on its left."""
    site = made(geojson(*yard(), fence("alarm line", (39, 0.5), (0.5, 0.5)), kind_line()), origin=(54.07, 6.41)).site
    follows = next(rule for rule in site.rule if rule.perimeter == "south quay")
    assert follows.offset_m == pytest.approx(0.5, abs=0.02)
    own = next(rule for rule in site.rule if rule.points_m)
    assert np.allclose(own.points_m, [(2, 9), (12, 3)], atol=0.01)
    assert len(site.rule) == 5


def kind_line() -> dict:
    return fence("short", (12, 3), (2, 9), kind="rule", time_window_s=2)


def test_bearings_are_true_in_the_drawing_and_grid_in_the_file(made):
    """The same drawing on a grid turned by 30 degrees: catches the turn left out, or added."""
    site = made(geojson(*yard()), grid_north_deg=30.0).site
    assert site.camera[1].bearing_deg == pytest.approx(170.0)


def test_a_turned_yard_is_the_same_yard(made):
    """Lengths, insides, gates do not know how the yard lies: catches a side decided by east and north (1 cm: the plane)."""
    straight, other = made(geojson(*yard())).site, made(geojson(*turned(yard(), 121.0))).site
    for one, two in zip(straight.perimeter, other.perimeter):
        lengths = [np.hypot(*np.diff(np.array(p.points_m), axis=0).T).sum() for p in (one, two)]
        assert lengths[0] == pytest.approx(lengths[1], abs=0.02)
        assert one.inside == two.inside
        assert [(g.from_m, g.to_m) for g in two.gates] == [pytest.approx((g.from_m, g.to_m), abs=0.02) for g in one.gates]


def test_gpx(made):
    """Routes are fences, waypoints cameras, by <type> and <desc>."""
    points = "".join(f'<rtept lat="{lat!r}" lon="{lon!r}"/>' for lon, lat in line((0, 0), (40, 0)))
    lon, lat = at(2, 2)
    text = (
        f'<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><wpt lat="{lat!r}" lon="{lon!r}"><ele>3</ele>'
        "<name>K1</name><desc>height_m = 5&#10;bearing: 95</desc><type>camera</type></wpt>"
        f'<wpt lat="{lat!r}" lon="{lon!r}"><name>camera K2</name><type>Via Point</type></wpt>'
    )
    site = made((text + f"<rte><name>south fence</name>{points}</rte></gpx>").encode(), "y.gpx").site
    assert (site.perimeter[0].name, site.camera[0].mark, site.camera[0].height_m) == ("south fence", "K1", 5.0)
    assert site.camera[1].mark == "camera K2"  # <type> holds words of any program, so a strange one forbids nothing
    assert site.camera[0].bearing_deg == pytest.approx(95.0)


def test_descriptions_of_kml(made):
    """People can type only there in many programs: tags are taken out, unknown lines passed over."""
    text = kml(fence(), camera()).replace(
        b"<name>camera K1</name>",
        b"<name>camera K1</name><description>"
        b"&lt;b&gt;height m: 14 ft&lt;/b&gt;&lt;br&gt;lens = tele&lt;br&gt;see: me</description>",
    )
    one = made(text, "y.kml").site.camera[0]
    assert (one.height_m, one.lens) == (pytest.approx(4.2672), "tele")


def test_aims_mountings_areas(made):
    drawn = [
        fence("ring fence", (0, 0), (40, 0), (40, 30), (0, 30), (0, 0)),
        feature("K1", "Point", at(1, 1), kind="camera"), feature("look", "Point", at(20, 2), kind="aim", camera="K1"),
        feature("mast", "Point", at(30, 3), heights_m="4, 6"),
        feature("yard", "Polygon", [line((5, 5), (20, 5), (20, 20), (5, 5))], kind="area", dwell_s=2),
    ]  # fmt: skip
    site = made(geojson(*drawn), origin=(54.07, 6.41)).site
    assert site.camera[0].bearing_deg == pytest.approx(math.degrees(math.atan2(19, 1)), abs=0.05)
    assert site.mounting[0].heights_m == (4.0, 6.0)
    area = next(rule for rule in site.rule if rule.kind == "area")
    assert area.dwell_s == 2.0
    assert area.points_m[0] == area.points_m[-1]
    assert site.perimeter[0].closed


def test_the_180th_meridian(made):
    """A line cut there by RFC 7946 3.1.9 is one fence again: 0.0006 degrees at 17 S are 63.9 m."""
    parts = [[[179.9997, -17.0], [180.0, -17.0]], [[-180.0, -17.0], [-179.9997, -17.0]]]
    made = made(geojson(feature("fence", "MultiLineString", parts), feature("camera", "Point", [179.9998, -16.9999])))
    assert len(made.site.perimeter) == 1
    x = np.array(made.site.perimeter[0].points_m)[:, 0]
    assert np.ptp(x) == pytest.approx(63.89, abs=0.01)
    assert "yard.geojson: it crosses the 180th meridian: joined there" in made.report.notes


def test_metres_of_a_plan(made):
    """--crs site: no place, no [map]; with --origin there is one."""
    drawn = geojson(feature("fence", "LineString", [[0, 0], [40, 0]]), feature("camera", "LineString", [[1, 2], [20, 2]]))
    plain = made(drawn, crs="site")
    assert plain.site.map is None
    assert plain.site.perimeter[0].points_m == ((0.0, 0.0), (40.0, 0.0))
    assert made(drawn, crs="site", origin=(54.07, 6.41)).site.map.latitude == 54.07


def test_another_system(made):
    """Metres of UTM 32 by --crs: a fence of 40 m on the zone's middle is 40 / 0.9996 m long."""
    drawn = geojson(
        feature("fence", "LineString", [[500000, 5991000], [500040, 5991000]]), feature("camera", "Point", [500001, 5991002])
    )
    (a, b) = np.array(made(drawn, crs="EPSG:32632").site.perimeter[0].points_m)
    assert np.hypot(*(b - a)) == pytest.approx(40.0 / 0.9996, abs=2e-4)


def test_leave_out(made):
    """What is wrong is left out and listed, the rest is written; catches a gate that stays without its fence."""
    drawn = geojson(*yard(), building("shed", (10, 20), (20, 26), (20, 20), (10, 26)), feature("gate", "Point", at(20, 10)))
    with pytest.raises(InputError) as caught:
        made(drawn)
    assert len(caught.value.problems) == 2
    made = made(drawn, leave_out=True)
    assert [o.name for o in made.site.obstacle] == ["hall"]
    assert len([label for label, _ in made.report.left if "shed" in label or "gate" in label]) == 2


def test_no_location(made):
    """No number within 0.01 degrees of the true place: catches a degree in a comment, a table or a report."""
    import re

    drawn = geojson(*yard(), building("shed", (10, 20), (20, 26), (20, 20), (10, 26)))
    out = made(drawn, no_location=True, leave_out=True)
    said = out.text + out.place + repr(out.report)
    assert not [n for n in re.findall(r"-?\d+\.?\d*", said) if abs(float(n) - 54.07) < 0.01 or abs(float(n) - 6.41) < 0.01]
    assert (out.site.map, out.site.site.longitude, out.site.site.latitude) == (None, None, 54.0)


def test_two_drawings(made, tmp_path):
    """Fences from one, cameras from another; problems name their drawing."""
    (tmp_path / "a.geojson").write_bytes(geojson(fence()))
    (tmp_path / "b.kml").write_bytes(kml(camera("K1", kind="camera")))
    site = make_site([str(tmp_path / "a.geojson"), str(tmp_path / "b.kml")], Asked()).site
    assert (len(site.perimeter), len(site.camera)) == (1, 1)
    (tmp_path / "b.kml").write_bytes(kml(camera("K1", (300_000, 0), (300_020, 0), kind="camera")))
    with pytest.raises(InputError, match="b.kml, it lies at .* from the drawing a.geojson"):
        make_site([str(tmp_path / "a.geojson"), str(tmp_path / "b.kml")], Asked())
