"""Every picture draws what its data function returns: nobody can ask for numbers other than those on the page."""

import ast
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import fencecast.show as show_room
from fencecast.estimate import places
from fencecast.estimate.results import Results
from fencecast.findings.sheetwords import PD_MEANS
from fencecast.show.fence import cause, comparison, plan, sensitivity, strip, summary
from fencecast.show.fence.data import cause_strip_data, fence_strip_data, plan_data
from fencecast.show.fence.plan import sections_words
from fencecast.show.look import distance
from fencecast.show.look.data import distance_data, view_data
from fencecast.show.nuisance import nights
from fencecast.show.nuisance import plan as nuisance_plan
from fencecast.show.year import carpet, opticalrange
from show import invented_comparisons, invented_hours, invented_looks, invented_nuisance, invented_results
from show.overlap import overlaps, texts

SHOW = Path(show_room.__file__).parent
DATA_MODULES = (
    "aim.data", "fence.data", "fence.sheetdata", "fence.comparisondata", "fence.grounddata", "fence.lossdata",
    "fence.profiledata", "look.data", "map.results", "map.sheet", "nuisance.data", "year.data",
    "study.data", "tradeoff.data", "fence.walkbanddata",
)  # fmt: skip


def shared() -> set[str]:
    """Names that a picture and its data have in common: plan, fence_strip ..."""
    return {name.removeprefix("plot_") for name in show_room.__all__ if name.startswith("plot_")}


def test_every_picture_has_its_data():
    """Catches: a picture whose numbers cannot be had."""
    twins = {name.removesuffix("_data") for name in show_room.__all__ if name.endswith("_data")}
    assert shared() == twins and len(twins) >= 17
    for name in shared():
        assert callable(getattr(show_room, f"plot_{name}")) and callable(getattr(show_room, f"{name}_data"))


def test_only_data_modules_read_results():
    """Catches: a drawing that takes a number past its data, which the two could then disagree about."""
    reading = {f"{module.replace('.', '/')}.py" for module in DATA_MODULES} | {"write.py"}
    for path in SHOW.rglob("*.py"):
        if str(path.relative_to(SHOW)) in reading:
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Subscript | ast.Attribute) and isinstance(node.value, ast.Name):
                assert node.value.id != "results", f"{path.name}:{node.lineno} reads results itself"


def test_data_comes_without_matplotlib():
    """Catches: a second of importing for numbers alone."""
    imports = "; ".join(f"import fencecast.show.{module}" for module in DATA_MODULES)
    code = f"import sys; {imports}; sys.exit('matplotlib' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


@pytest.mark.parametrize(
    ("module", "name", "plot", "results"),
    [
        (plan, "plan_data", "plot_plan", invented_results.yard),
        (strip, "fence_strip_data", "plot_fence_strip", invented_results.yard),
        (cause, "cause_strip_data", "plot_cause_strip", invented_results.yard),
        (distance, "distance_data", "plot_distance", invented_results.yard),
        (carpet, "year_carpet_data", "plot_year_carpet", invented_hours.yard),
        (opticalrange, "optical_range_data", "plot_optical_range", invented_hours.with_fog),
        (nights, "nuisance_data", "plot_nuisance", invented_nuisance.asked),
        (nuisance_plan, "nuisance_plan_data", "plot_nuisance_plan", invented_nuisance.asked),
    ],
    ids=lambda each: each if isinstance(each, str) else "",
)
def test_the_page_shows_what_the_data_says(module, name, plot, results, monkeypatch):
    """Catches: a page that asks for its data and draws something else."""
    results = results()
    data = getattr(module, name)(results)
    assert data.title in " ".join(texts(getattr(module, plot)(results)))
    monkeypatch.setattr(module, name, lambda *_: replace(data, title="Another title"))
    assert "Another title" in texts(getattr(module, plot)(results))


def test_numbers_of_the_summary_and_the_comparison_reach_the_page(monkeypatch):
    """Catches: metres or a verdict that come from elsewhere than the data."""
    results = invented_results.yard()
    data = summary.summary_data(results)
    monkeypatch.setattr(
        summary, "summary_data", lambda _: replace(data, verdict="Nothing is known.", notes=("A note.", "Limits."))
    )
    said = texts(summary.plot_summary(results))
    assert {"Nothing is known.", "A note.", "Limits."} <= set(said) and any(text.startswith(PD_MEANS) for text in said)
    compared = invented_comparisons.flat(0.1)
    data = comparison.comparison_data(compared)
    rows = tuple(replace(row, metres=dict.fromkeys(row.metres, 777.0)) for row in data.rows)
    monkeypatch.setattr(comparison, "comparison_data", lambda *_: replace(data, rows=rows))
    assert texts(comparison.plot_comparison(compared)).count("777") == 4 * len(rows)


def test_rows_are_the_results_by_name():
    """Catches: a class under its neighbour's name, a cause under another."""
    results = invented_results.yard()
    for data in (fence_strip_data(results), plan_data(results)):
        assert len(data.rows) == results.sizes["weather"]
        for row in data.rows:
            assert np.array_equal(row.pd, results["pd"].sel(weather=row.summary.name).values, equal_nan=True)
            lengths = data.fence.end_m - data.fence.start_m
            assert row.summary.weak_m == pytest.approx(lengths[row.verdict == "weak"].sum())
    for row in cause_strip_data(results).rows:
        assert np.nansum(row.misses, axis=0) == pytest.approx(np.nan_to_num(1.0 - row.fence.pd))
    panels = distance_data(results).panels[0]
    for panel in panels:
        for curve in panel.curves:
            at = results["pd_distance"].sel(weather=panel.summary.name, lens=curve.lens.name)
            assert np.array_equal(curve.pd, at.values, equal_nan=True)


def test_a_view_takes_one_to_four_distances():
    """Catches: a fifth person drawn on the others."""
    frames, about_site = invented_looks.eyes()["three"]
    site = invented_looks.invented_site(**about_site)
    data = view_data(list(reversed(frames)), site)
    assert [f.distance_m for f in data.asked] == sorted(f.distance_m for f in data.asked)
    with pytest.raises(ValueError, match="draws 1 to 4 distances, not 0"):
        view_data([f for f in frames if f.comparison], site)


def test_sections_may_skip_letters(monkeypatch):
    """Letters that begin a camera's mark are left out. Catches: a picture that counts letters for itself."""
    as_it_is = places.sections_of
    monkeypatch.setattr(places, "sections_of", lambda r: tuple(replace(s, letter="BDFH"[s.index]) for s in as_it_is(r)))
    results = invented_results.yard()
    assert [section.letter for section in Results.of(results).sections] == ["B", "D", "F", "H"]
    for draw in (plan.plot_plan, strip.plot_fence_strip, cause.plot_cause_strip, summary.plot_summary):
        figure = draw(results)
        words = texts(figure)
        assert overlaps(figure) == []
        assert any(text.startswith("B") and "West fence" in text for text in words)
        assert not any("A = " in text or text.startswith(("A  ", "C  ")) for text in words)
    assert sections_words(["B"]) == "section B"
    assert sections_words(["B", "D", "F"]) == "sections B, D and F"
    assert sections_words(list("BDFGH")) == "sections B to H"


@pytest.mark.parametrize("case", ["yard", "twelve_classes"])
def test_a_longer_list_of_what_is_not_modelled_fits_the_sheet(case):
    """Catches: a list cut off by an ellipsis, a table that the notes run into."""
    results = invented_results.ALL[case]()
    results.attrs["not_modelled"] = "\n".join(["Nuisance alarms, transmission, assessment and response are not modelled."] * 9)
    figure = summary.plot_summary(results)
    assert overlaps(figure) == []
    assert " ".join(texts(figure)).count("nuisance alarms, transmission, assessment and response are not modelled") == 9


def test_inputs_of_a_run_without_them_are_refused():
    """Catches: a KeyError instead of what to do."""
    with pytest.raises(ValueError, match="run with sensitivity=True"):
        sensitivity.sensitivity_data(invented_results.yard())
