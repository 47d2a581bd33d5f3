"""The drawing that `fencecast example boat-yard` writes: made by its script, the same in the package, one yard in both."""

from __future__ import annotations

import importlib.util
from pathlib import Path

import fencecast as fc

ROOT = Path(__file__).parents[2]
FILES = ("boat-yard.geojson", "boat-yard.kml")


def test_it_is_the_one_that_its_script_makes():
    """Would catch a drawing mended by hand, or in one place only."""
    spec = importlib.util.spec_from_file_location("make_drawing", ROOT / "configs" / "make_drawing.py")
    maker = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(maker)
    for file, text in zip(FILES, (maker.geojson(), maker.kml())):
        for folder in (ROOT / "configs", ROOT / "sim" / "fencecast" / "examples"):
            assert (folder / file).read_text(encoding="utf-8") == text


def test_both_formats_are_one_yard():
    """Kinds by a property, or by folders with numbers in descriptions: the same file comes out."""
    one, two = (fc.from_map(ROOT / "configs" / file) for file in FILES)
    assert one.text.split("\n", 1)[1] == two.text.split("\n", 1)[1]
    assert one.report.left == []
    assert len(one.report.notes) == 2  # two corners that were clicked a few centimetres apart
    assert [p.inside for p in one.site.perimeter] == ["left"] * 4
    assert [rule.offset_m for rule in one.site.rule] == [1.0, 0.5, 0.5, 0.5]
