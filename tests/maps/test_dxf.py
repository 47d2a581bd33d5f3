"""DXF drawings: layers, blocks, curves and units, against the metres that they were drawn from."""

from __future__ import annotations

import numpy as np
import pytest

from fencecast.errors import InputError
from fencecast.maps import limits
from fencecast.maps.asked import Asked
from fencecast.maps.frommap import make_site

ezdxf = pytest.importorskip("ezdxf")


@pytest.fixture
def drawn(tmp_path):
    def make(
        insunits: int = 6, scale: float = 1.0, east: float = 0.0, north: float = 0.0, more=lambda space, at: None, **options
    ):
        document = ezdxf.new("R2010")
        document.header["$INSUNITS"] = insunits
        space = document.modelspace()

        def at(x, y):
            return (east + x) * scale, (north + y) * scale

        space.add_lwpolyline([at(0, 0), at(40, 0), at(40, 30), at(0, 30)], close=True, dxfattribs={"layer": "Site-Fences"})
        space.add_lwpolyline([at(10, 10), at(20, 10), at(20, 16), at(10, 16)], close=True, dxfattribs={"layer": "A-BLDG"})
        block = document.blocks.new("SYMBOL")
        block.add_circle((0, 0), 0.3 * scale)
        block.add_attdef("MARK")
        block.add_attdef("HEIGHT_M")
        insert = space.add_blockref("SYMBOL", at(1, 1), dxfattribs={"layer": "Cameras"})
        insert.add_auto_attribs({"MARK": "K1", "HEIGHT_M": "4.5"})
        space.add_text("a note", dxfattribs={"layer": "Notes"})
        more(space, at)
        path = tmp_path / "yard.dxf"
        document.saveas(path)
        options.setdefault("words", ["a-bldg=building"])
        return make_site([str(path)], Asked(**options))

    return make


def test_layers_blocks_and_attributes(drawn):
    """One camera, not two: the circle of its symbol stays in its block."""
    site = drawn().site
    assert site.map is None
    assert site.perimeter[0].closed
    assert site.perimeter[0].points_m == ((0.0, 0.0), (40.0, 0.0), (40.0, 30.0), (0.0, 30.0))
    assert [o.footprint_m[2] for o in site.obstacle] == [(20.0, 16.0)]
    assert [(c.mark, c.height_m, c.position_m) for c in site.camera] == [("K1", 4.5, (1.0, 1.0))]


@pytest.mark.parametrize(("unit", "scale"), [(4, 1000.0), (2, 1 / 0.3048), (5, 100.0), (1, 1 / 0.0254), (21, 3937.0 / 1200.0)])
def test_units_of_the_file(drawn, unit, scale):
    """Catches millimetres taken for metres, and a foot of the wrong kind (2 ppm: 0.1 mm in 50 m)."""
    assert np.allclose(drawn(unit, scale).site.perimeter[0].points_m, [(0, 0), (40, 0), (40, 30), (0, 30)], atol=1e-4)


def test_no_unit(drawn):
    """Asked for, with what the sizes would be; --unit answers."""
    with pytest.raises(InputError, match="what is drawn would be 40 km in m, 40 m in mm, 12.2 km in ft: type --unit m, mm or ft"):
        drawn(0, 1000.0)
    assert drawn(0, 1000.0, unit="mm").site.perimeter[0].points_m[2] == (40.0, 30.0)


def test_a_far_origin_is_moved_by_round_thousands(drawn):
    made = drawn(east=331_234.0, north=5_993_100.0)
    assert made.site.perimeter[0].points_m[0] == (234.0, 100.0)
    assert "coordinates are large: 331,000, 5,993,000 m were taken off all points" in made.report.notes


def test_a_place_by_its_system(drawn):
    """--crs turns the same metres into a place: 40 m on the ground are 40 x 0.9996 on UTM's grid near the zone's middle."""
    made = drawn(east=500_000.0, north=5_991_000.0, crs="EPSG:32632")
    assert made.site.map is not None
    (a, b) = np.array(made.site.perimeter[0].points_m[:2])
    assert np.hypot(*(b - a)) == pytest.approx(40.0 / 0.9996, abs=1e-3)


def test_curves(drawn):
    """A quarter circle of 10 m is flattened to 5 cm: its length is within 1 % of 15.708 m."""
    made = drawn(more=lambda space, at: space.add_arc(at(60, 0), 10.0, 0, 90, dxfattribs={"layer": "inner fence"}))
    points = np.array(made.site.perimeter[1].points_m)
    assert len(points) > 4
    assert np.hypot(*np.diff(points, axis=0).T).sum() == pytest.approx(15.708, rel=0.01)


def test_arrays_and_broken_files(drawn, tmp_path, monkeypatch):
    def rows(space, at):
        space.add_blockref(
            "SYMBOL",
            at(5, 5),
            dxfattribs={"layer": "Masts", "row_count": 40, "column_count": 40, "row_spacing": 1, "column_spacing": 1},
        )

    with pytest.raises(InputError, match="repeated 1,600 times, more than 1,000"):
        drawn(more=rows)
    (tmp_path / "b.dxf").write_text("0\nSECTION\n2\nnonsense")
    with pytest.raises(InputError, match="this is no DXF drawing that can be read|nothing in it has a kind"):
        make_site([str(tmp_path / "b.dxf")], Asked())
    monkeypatch.setattr(limits, "DXF_BYTES", 1_000)
    with pytest.raises(InputError, match="MB are more than"):
        drawn()


def test_mutated_drawings(drawn, tmp_path):
    """A hundred of them: a site or a report. Catches what an unknown entity or a broken number makes of the reader."""
    import random

    drawn()
    path = tmp_path / "yard.dxf"
    good = path.read_bytes()
    first = good.index(b"ENTITIES")
    last = good.index(b"ENDSEC", first)
    seen = set()
    for number in range(100):
        random_ = random.Random(number)
        made = bytearray(good)
        for _ in range(random_.randint(1, 6)):
            at = random_.randrange(first, last)
            action = random_.random()
            if action < 0.5:
                made[at] = random_.choice(b"0123456789-.eNaL\n ")
            elif action < 0.75:
                del made[at : at + random_.randint(1, 30)]
            else:
                made[at:at] = made[at : at + random_.randint(1, 60)]
        path.write_bytes(bytes(made))
        try:
            make_site([str(path)], Asked(words=["a-bldg=building"]))
            seen.add("site")
        except InputError:
            seen.add("refused")
    assert seen == {"site", "refused"}
