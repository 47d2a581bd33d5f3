"""Pieces of a study: what makes them new, what keeps them, and that all layouts of a yard meet the same crossings."""

import json

import pytest
import scipy.stats

import fencecast.decide.study.pieces as pieces_module
from decide.study.study_files import tables, tiny
from fencecast.decide.study.pieces import (
    _Layouts,
    compute_piece,
    crossing_seed,
    fullest,
    piece_site,
    read_piece,
    study_pieces,
    write_piece,
)
from fencecast.decide.study.running import run_study
from fencecast.errors import UsageError
from fencecast.site import parse_site


def names(**changes) -> set[str]:
    return {name for name, _ in study_pieces(tiny(**changes))}


def test_a_piece_depends_on_its_inputs_and_on_nothing_else():
    """Catches: a study that starts again when it grows, or that takes old pieces for new ones."""
    first = names()
    assert len(first) == 6
    raw = tables()
    more_yards = {**raw["yards"], "count": 5}
    more_lenses = {**raw["lenses"], "long": {"focal_length_mm": 9.0, "f_number": 1.0, "price": 1.0}}
    for same in (
        {"yards": more_yards},
        {"lenses": more_lenses},
        {"title": "Other"},
        {"base": "chain"},
        {"strategies": ["chain"]},
    ):
        grown = names(**same)
        assert grown < first if "strategies" in same else first <= grown, same
    foggier = [raw["weather"][0], {**raw["weather"][1], "visibility_m": 50.0}]
    other_kit = {"core": {**raw["sensors"]["core"], "netd_mk": 60.0}}
    for changes in (
        {"seed": 6}, {"crossings": 24}, {"weather": foggier}, {"sensors": other_kit}, {"design_weather": "year"},
        {"equal": {"by": "cameras", "number": [10.0]}}, {"yards": {**raw["yards"], "seed": 3}}, {"requirement": {"pd": 0.8}},
    ):  # fmt: skip
        assert not names(**changes) & first, changes


def test_pieces_of_other_code_are_made_anew(monkeypatch):
    """Catches: results that mix two versions of the program."""
    first = names()
    monkeypatch.setattr(pieces_module, "code_hash", lambda: "0.0.0+0")
    assert not names() & first


def test_a_worker_with_other_code_is_refused():
    """Catches: a cluster that runs another version, and numbers that nobody can repeat."""
    _, inputs = next(study_pieces(tiny()))
    with pytest.raises(UsageError, match="a worker runs fencecast .*, the study needs 0.0.0"):
        compute_piece({**inputs, "code": "0.0.0+0"})


def test_damaged_and_foreign_files_are_no_pieces(tmp_path):
    """Catches: half a file, a changed number or somebody else's file that is taken for a piece."""
    name, inputs = next(study_pieces(tiny()))
    result = {"fence_m": 1.0, "allowances": [{"mean_pd": [0.1, 1.0 / 3.0]}], "cpu_s": 0.5}
    assert read_piece(tmp_path, name, inputs) is None
    write_piece(tmp_path, name, inputs, result)
    assert read_piece(tmp_path, name, inputs) == result and [p.name for p in tmp_path.iterdir()] == [name]
    assert read_piece(tmp_path, name, {**inputs, "seed": 99}) is None
    text = (tmp_path / name).read_text()
    for wrong in (text[:-20], text.replace("0.1", "0.2"), "[]", "null", '{"key": 1}', ""):
        (tmp_path / name).write_text(wrong)
        assert read_piece(tmp_path, name, inputs) is None


def test_yards_have_crossings_of_their_own():
    """Catches: the same random numbers on every yard, whose noise an interval over yards would not see."""
    seeds = [crossing_seed(7, f"yard {k}") for k in range(1000)]
    assert len(set(seeds)) == 1000 and all(0 <= seed < 2**63 for seed in seeds)
    # Spread evenly: Kolmogorov-Smirnov against a uniform distribution (scipy); one seed in 1,000 would fail.
    assert scipy.stats.kstest([seed / 2**63 for seed in seeds], "uniform").pvalue > 0.001


OWN = """
from fencecast.decide.study.strategies import chain

def lay(site, kit, requirement, **options):
    return chain(site, kit, requirement, **options)
"""


def test_equal_strategies_differ_by_exactly_nothing(tmp_path, monkeypatch):
    """Catches: layouts of one yard that meet different crossings. A strategy of one's own that is the chain under another name;
    and a change in its file makes its pieces new."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "mine_for_a_test.py").write_text(OWN)
    changes = {"strategies": ["chain", "mine_for_a_test:lay"], "yards": {**tables()["yards"], "count": 2}}
    study = tiny(**changes)
    results = run_study(study, tmp_path / "out", workers=1)
    assert (results["mean_pd"].values[:, :, 0] == results["mean_pd"].values[:, :, 1]).all()
    for name in ("pd_difference", "pd_difference_low", "pd_difference_high"):
        assert (results[name].values == 0.0).all()
    assert (results["rank"].values == 1).all() and (results["pair_p_holm"].values[0, 0, 1] == 1.0).all()
    before = {name for name, _ in study_pieces(study)}
    (tmp_path / "mine_for_a_test.py").write_text(OWN + "\n# changed\n")
    after = {name for name, _ in study_pieces(study)}
    assert {name for name in before if "--chain--" in name} == before & after and len(before & after) == 2


def test_site_files_are_yards_too(tmp_path):
    """Catches: a yard that keeps its own cameras, lenses or weather, or that loses its obstacles, rules or places to stand."""
    inputs = next(study_pieces(tiny()))[1]
    site = piece_site(inputs)
    from fencecast.site import site_to_toml

    text = site_to_toml(site).replace('title = "yard 1"', 'title = "From a file"').replace("[lenses.wide]", "[lenses.other]")
    text = text.replace('lenses = ["wide"]', 'lenses = ["other"]')
    (tmp_path / "north.toml").write_text(text, encoding="utf-8")
    study = tiny(tmp_path, yards=None, yard=[{"path": "north.toml"}])
    assert study.yard_names == ("north",)
    (_, given), *_ = study_pieces(study)
    again = piece_site(given)
    assert again.perimeter == site.perimeter and again.obstacle == site.obstacle and again.camera == ()
    assert list(again.lenses) == ["wide"] and [z.points_m for z in again.mounting] == [z.points_m for z in site.mounting]
    one, other = compute_piece(given), compute_piece({**inputs, "yard": "north"})
    assert one["allowances"][0]["mean_pd"] == other["allowances"][0]["mean_pd"]


def test_a_layout_uses_what_it_may_and_no_more():
    """Catches: layouts over the allowance, or that leave cameras unused which a little less stretch would hang."""
    made = {}

    def make(stretch):
        made[stretch] = tuple(range(int(20 / stretch)))  # 20 / stretch cameras, rounded down
        return made[stretch]

    for allowance in (3, 7, 19, 33, 100):
        best = fullest(_Layouts(make, priced=False), allowance)
        assert len(best[0]) <= allowance and len(best[0]) >= min(0.9 * allowance - 1, 160)
        assert all(len(layout) <= allowance for layout in best)
    with pytest.raises(UsageError, match="it needs at least 2 cameras here"):
        fullest(_Layouts(make, priced=False), 1)


def test_a_piece_tells_what_it_measured():
    """Catches: metres that do not add up, scramblings that do not average to the mean, a layout that is not the one measured."""
    for _, inputs in list(study_pieces(tiny()))[:2]:
        piece = json.loads(json.dumps(compute_piece(inputs)))
        for row, most in zip(piece["allowances"], (10, 14)):
            if "no_layout" in row:
                assert "cameras here" in row["no_layout"]
                continue
            site = parse_site(row["site_toml"])
            assert row["cameras"] == len(site.camera) <= most
            assert row["cost"] == pytest.approx(1300.0 * row["cameras"])
            for k in range(2):
                total = row["weak_m"][k] + row["undecided_m"][k] + row["meets_m"][k]
                assert total == pytest.approx(piece["fence_m"])
                assert sum(row["replicates"][k]) / 8 == pytest.approx(row["mean_pd"][k])
                assert 0.0 <= row["weakest_pd"][k] <= 1.0


def test_equal_cost_is_equal_cameras_where_all_cost_the_same():
    """Catches: a budget that is read as a number of cameras, prices left out, amounts per 100 m that forget the length."""
    by_cameras = compute_piece(next(study_pieces(tiny()))[1])
    by_cost = compute_piece(next(study_pieces(tiny(equal={"by": "cost", "number": [13_000.0, 18_200.0]})))[1])
    assert by_cost["allowances"] == by_cameras["allowances"]
    per_100_m = [100.0 * number / by_cameras["fence_m"] + 1e-6 for number in (10, 14)]
    spread = compute_piece(next(study_pieces(tiny(equal={"by": "cameras", "per_100_m": per_100_m})))[1])
    assert spread["allowances"] == by_cameras["allowances"]
