"""Security limits, each just over its border: refused before reading, or while. Catches a limit that nobody asks."""

from __future__ import annotations

import time
import zipfile

import pytest

from fencecast.errors import InputError
from fencecast.maps import limits
from fencecast.maps.asked import Asked
from fencecast.maps.frommap import make_site
from maps.drawn import fence, geojson, kml, kmz


def refused(path) -> str:
    with pytest.raises(InputError) as caught:
        make_site([str(path)], Asked())
    assert len(caught.value.problems) == 1
    return str(caught.value.problems[0])


def test_a_large_file_is_not_read(tmp_path, monkeypatch):
    """300 MB of holes: refused by its size on the disk, without a byte of it read."""
    path = tmp_path / "y.geojson"
    with path.open("wb") as file:
        file.truncate(300_000_000)
    monkeypatch.setattr("pathlib.Path.read_bytes", lambda self: pytest.fail("it was read"))
    assert refused(path).startswith("300 MB are more than the 50 MB")


def test_a_million_points_in_two_seconds(tmp_path):
    path = tmp_path / "y.geojson"
    path.write_text('{"type":"LineString","coordinates":[' + ",".join(["[6.41,54.07]"] * 1_000_000) + "]}")
    start = time.perf_counter()
    assert refused(path).startswith("it has more than 200,000 points")
    assert time.perf_counter() - start < 2.0


@pytest.mark.parametrize("form", ["geojson", "kml"])
def test_counts(tmp_path, monkeypatch, form):
    """The border itself is taken, one more is not."""
    for name, most, words in (("POINTS", 12, "points"), ("FEATURES", 2, "features")):
        monkeypatch.setattr(limits, name, most)
        write = geojson if form == "geojson" else kml
        path = tmp_path / f"y.{form}"
        path.write_bytes(
            write(
                *[fence(f"fence {k}", (0, 9 * k), (40, 9 * k)) for k in range(2)],
                fence("third", (0, 99), *[(k, 98) for k in range(9)]),
            )
        )
        assert refused(path).startswith(f"it has more than {most:,} {words}")
        monkeypatch.undo()
    monkeypatch.setattr(limits, "FEATURE_POINTS", 3)
    path.write_bytes(write(fence("fence", (0, 0), (10, 0), (20, 0), (30, 0))))
    assert refused(path).startswith('feature 1 "fence" has 4 points, more than 3')


def test_of_a_kind(tmp_path, monkeypatch):
    """A map of every house of a town would keep the checks of a site file busy for hours."""
    monkeypatch.setattr(limits, "OF_A_KIND", 2)
    path = tmp_path / "y.geojson"
    path.write_bytes(geojson(*[fence(f"fence {k}", (0, 9 * k), (40, 9 * k)) for k in range(3)]))
    assert refused(path) == "3 features are of kind fence, and at most 2 are taken: draw less"


def test_text(tmp_path):
    path = tmp_path / "y.geojson"
    path.write_bytes(geojson(fence("fence", remark="x" * 10_001)))
    assert refused(path) == "property 'remark' has 10,001 characters, more than 10,000: shorten it"


def test_archives(tmp_path, monkeypatch):
    """What unpacks to too much is stopped while it is counted, whatever size the archive claims; names are never paths."""
    path = tmp_path / "y.kmz"
    path.write_bytes(kmz(b"<kml>" + b" " * 60_000_000 + b"</kml>"))
    assert refused(path) == "unpacked it has more than 50 MB"
    with zipfile.ZipFile(path, "w") as archive:
        for k in range(201):
            archive.writestr(f"{k}.kml", b"<kml/>")
    assert refused(path) == "the archive has 201 entries, more than 200"
    path.write_bytes(kmz(b"<kml/>", "../doc.kml"))
    assert refused(path) == "the archive has no .kml file outside of its folders"
    assert sorted(each.name for each in tmp_path.iterdir()) == ["y.kmz"]


def test_no_entity_is_ever_declared(tmp_path):
    """A file named by an entity would end up in a name: catches a parser that resolves it."""
    (tmp_path / "own.txt").write_text("words of this machine")
    path = tmp_path / "y.kml"
    path.write_text(
        f'<!DOCTYPE kml [<!ENTITY x SYSTEM "{(tmp_path / "own.txt").as_uri()}">]><kml><Document><name>&x;</name></Document></kml>'
    )
    assert "document type" in refused(path)
