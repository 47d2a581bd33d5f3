"""`fencecast compare`, `run --without` and `run --lose-each`: folders, tables, JSON, pictures drawn again, wrong requests."""

import json
import os

import numpy as np
import pytest
from command_line import CAUTION, TINY, errors_of, flat, typed

import fencecast as fc

TWO_CAMERAS = (
    TINY.replace('lens = "long"\n', 'lens = "long"\nprice = 900\n', 1)
    + """
[lenses.wide]
focal_length_mm = 3.0
f_number = 1.0

[[camera]]
mark = "C2"
position_m = [26.0, 2.0]
height_m = 4.0
aim_m = [6.0, 0.0]
sensor = "core"
lens = "long"
price = 1000
depends_on = "east mast"
"""
)
VARIANTS = """
[[variant]]
name = "C1 wide"
change.camera.C1.lens = "wide"

[[variant]]
name = "one camera"
without = ["C2"]
"""
COARSE = ("--precision", "0.1", "--max-crossings", "128")


@pytest.fixture
def two(yard):
    (yard / "two.toml").write_text(TWO_CAMERAS)
    (yard / "variants.toml").write_text(TWO_CAMERAS + VARIANTS)
    return yard


def test_lenses_are_compared_on_the_cameras_that_are_named(two):
    """Catches: a folder without its pictures, a sentence that is not that of the numbers, another camera changed."""
    ended = typed("compare", "two.toml", "--lens", "wide", "--lens", "long", "--camera", "C1", *COARSE)
    assert ended.code == 0, ended.err
    assert sorted(os.listdir("two-compare")) == ["compare.nc", "comparison-distance.png", "comparison.png", "manifest.json"]
    with fc.open_results("two-compare/compare.nc") as results:
        assert results["variant"].values.tolist() == ["wide", "long"] and results.attrs["command"].startswith("fencecast compare")
        lenses = [[c.lens for c in fc.parse_site(str(text)).camera] for text in results["variant_toml"].values]
        assert lenses == [["wide", "long"], ["long", "long"]]
        assert all(results[name].attrs["units"] and results[name].attrs["long_name"] for name in results.variables)
        better = float(np.sum(results["verdict_year"].values[0] == "better")) * 4.0
    said = flat(ended.out)
    assert f"long is better on {better:.0f} m, worse on " in said or "long and wide are equivalent on all 12 m" in said
    for words in ("long compared with wide: metres by weather class", "weakest place", "1,900", "in all, by hours", CAUTION):
        assert words in flat(ended.out)
    assert "not distinguishable on " in flat(ended.out) and "the transmission of alarms" in flat(ended.out)
    assert max(len(line) for line in ended.out.splitlines()) <= 100
    before = {name: (two / "two-compare" / name).read_bytes() for name in ("comparison.png", "comparison-distance.png")}
    assert typed("plot", "two-compare/compare.nc", "-o", "again").code == 0
    assert {name: (two / "again" / name).read_bytes() for name in before} == before


def test_variant_tables_are_compared_with_the_file(two):
    """Catches: a variant that is not applied, JSON with other numbers than the file, a second variant that is not drawn."""
    ended = typed("compare", "variants.toml", "--json", *COARSE)
    assert ended.code == 0, ended.err
    said = json.loads(ended.out)
    assert [design["name"] for design in said["designs"]] == ["base", "C1 wide", "one camera"]
    assert [pair["variant"] for pair in said["comparisons"]] == ["C1 wide", "one camera"]
    assert said["caution"] == CAUTION and errors_of(ended) == []
    results = fc.open_results("variants-compare/compare.nc")
    for k, pair in enumerate(said["comparisons"]):
        for c in pair["classes"]:
            row = results["weather"].values.tolist().index(c["name"])
            assert c["worse_m"] == 4.0 * np.sum(results["verdict"].values[k, row] == "worse")
            metres = [c[f"{word}_m"] for word in ("better", "worse", "equivalent", "not_distinguishable", "no_data")]
            assert sum(metres) == pytest.approx(12.0)
            assert c["mean_difference"] == pytest.approx(float(results["mean_difference"].values[k, row]))
    for k, design in enumerate(said["designs"]):
        weakest = design["weakest"]
        row = results["weather"].values.tolist().index(weakest["weather"])
        lowest = [results["pd_fresh"].values[k, w, np.argmin(results["pd"].values[k, w])] for w in (0, 1)]
        assert weakest["pd"] == results["pd_fresh"].values[k, row, weakest["segment"]] == min(lowest)
    fog = results["pd_difference"].sel(compared="one camera", weather="thick fog").values
    assert np.all(fog <= 0.0) and np.any(fog < 0.0)
    pictures = {name for name in os.listdir("variants-compare") if name.endswith(".png")}
    assert pictures == {"comparison-1.png", "comparison-2.png", "comparison-distance-1.png"}  # one lens in both: no second curve


def test_site_files_are_compared_and_the_same_file_is_equal(two):
    """Catches: names by which the files cannot be distinguished; a difference where there is none."""
    (two / "copy.toml").write_text(TWO_CAMERAS)
    ended = typed("compare", "two.toml", "copy.toml", *COARSE, "--no-pictures", "--margin", "0.1")
    assert ended.code == 0, ended.err
    assert "copy and two are equivalent on all 12 m: within ±0.1." in ended.out
    assert os.listdir("two-compare") and "comparison.png" not in os.listdir("two-compare")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["two.toml"], "Error: there is nothing to compare: name lenses (--lens wide --lens long), a second site file, or add"),
        (["two.toml", "--lens", "wde"], 'Error: lens "wde" is not known: did you mean "wide"? the site has: "long", "wide"'),
        (["two.toml", "--lens", "wide", "--camera", "C3"], 'Error: camera "C3" is not known: the site has: "C1", "C2"'),
        (["two.toml", "--camera", "C1"], "Error: --camera says on which cameras lenses are swapped; name the lenses too"),
        (["two.toml", "tiny.toml", "--lens", "wide"], "Error: --lens and --camera go with one site file"),
        (["two.toml", "--lens", "wide", "--lens", "wide"], "Error: --lens names the same lens twice"),
        (["two.toml", "two.toml"], "Error: the same site file is named twice"),
        (["two.toml", "longer.toml"], 'Error: these cannot be compared with "two", segment by segment:'),
        (["two.toml", "--lens", "wide", "--margin", "0.6"], "Error: margin 0.6 is not allowed: a difference of Pd from 0 to 0.5"),
        (["two.toml", "--lens", "wide", "--precision", "0"], "Error: precision 0 is not allowed"),
        (["two.toml", "--lens", "wide", "--weather", "fog"], 'Error: no weather class "fog" in this site'),
    ],
)
def test_what_cannot_be_compared_says_why_and_writes_nothing(two, words, said):
    (two / "longer.toml").write_text(TWO_CAMERAS.replace("[12.0, 0.0]]", "[16.0, 0.0]]"))
    before = sorted(os.listdir())
    ended = typed("compare", *words)
    assert (ended.code, ended.out) == (2, "")
    assert ended.err.splitlines()[0].startswith(said), ended.err
    assert sorted(os.listdir()) == before


def test_a_run_without_a_camera_says_so_everywhere(two):
    """Catches: a result that could be taken for that of the whole site."""
    ended = typed("run", "two.toml", "--without", "C2", *COARSE, "--no-pictures")
    assert ended.code == 0, ended.err
    assert ended.out.splitlines()[0] == "Tiny yard without C2"
    results = fc.open_results("two-results/results.nc")
    assert (results["camera"].values.tolist(), results.attrs["without"], results.attrs["title"]) == (
        ["C1"],
        "C2",
        "Tiny yard without C2",
    )
    assert results.attrs["site_sha256"] == fc.load_site("two.toml").sha256
    assert "--without C2" in results.attrs["command"]
    wrong = typed("run", "two.toml", "--without", "C9")
    assert (wrong.code, wrong.out) == (2, "") and 'camera "C9" is not known' in wrong.err


def test_every_single_loss_is_listed_drawn_and_kept(two):
    """Catches: a table without a loss, JSON in another order, a strip that `plot` cannot draw again."""
    ended = typed("run", "two.toml", "--lose-each", "depends_on", *COARSE)
    assert ended.code == 0, ended.err
    start = ended.out.index("What each loss costs: one thing that cameras depend on at a time, the costliest first")
    part = ended.out[start : ended.out.index("How far to trust it")]
    assert "east mast" in part and "C1" in part and "thick fog" in part
    results = fc.open_results("two-results/results.nc")
    assert set(results["loss"].values) == {"C1", "east mast"} and results.attrs["losses_by"] == "depends_on"
    assert all(results[name].attrs["units"] and results[name].attrs["long_name"] for name in results.variables)
    before = (two / "two-results" / "worst-loss.png").read_bytes()
    assert typed("plot", "two-results/results.nc", "-o", "again").code == 0
    assert (two / "again" / "worst-loss.png").read_bytes() == before
    said = json.loads(typed("run", "two.toml", "--lose-each", "camera", *COARSE, "--json", "--force", "--no-pictures").out)
    assert [sorted(loss["cameras"]) for loss in said["losses"]] in ([["C1"], ["C2"]], [["C2"], ["C1"]])
    assert said["losses"][0]["newly_weak_m"] >= 0.0 and said["losses"][0]["place"].startswith("A ")
