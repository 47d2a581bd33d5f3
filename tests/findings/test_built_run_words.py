"""Design, as built and tested side by side: rows with the data that they are made from, exact intervals of walks."""

import numpy as np
import pytest

from fencecast.findings.blocks import Table, words_of
from fencecast.findings.builtrun import MOST_ROWS, both_blocks, both_object, both_rows, exact_interval
from show.invented_comparisons import comparison, flat


@pytest.fixture(scope="module")
def results():
    found = comparison(names=("design", "built"))
    return found.assign_attrs(precision=0.01, crossings_total=1000)


def test_exact_intervals():
    """Published tables of Clopper and Pearson's interval: 27 and 29 of 29, 38 of 40, and none."""
    assert exact_interval(27, 29, 0.95) == pytest.approx((0.7723, 0.9915), abs=5.1e-5)
    assert exact_interval(38, 40, 0.95) == pytest.approx((0.8308, 0.9939), abs=5.1e-5)
    assert exact_interval(29, 29, 0.90)[0] == pytest.approx(0.9019, abs=5.1e-5) and exact_interval(29, 29, 0.90)[1] == 1.0
    assert exact_interval(0, 12, 0.95)[0] == 0.0


def test_rows_are_the_data(results):
    """Catches: design for built, another segment's difference, walks in the wrong segment or class."""
    section, weather = str(results["section"].values[3]), str(results["weather"].values[1])
    start, end = float(results["segment_start_m"].values[3]), float(results["segment_end_m"].values[3])
    tested = {(section, 0.5 * (start + end)): (5, 6), (section, start + 0.1): (2, 3), (section, end + 0.3): (1, 1)}
    rows = both_rows(results, tested, weather)
    assert len(rows) == results.sizes["weather"] * results.sizes["segment"]
    row = next(each for each in rows if each.weather == weather and each.chainage_m == float(results["chainage_m"].values[3]))
    cell = results.isel(weather=1, segment=3)
    assert row.design == tuple(float(cell[name].values[0]) for name in ("pd", "pd_low", "pd_high"))
    assert row.built == tuple(float(cell[name].values[1]) for name in ("pd", "pd_low", "pd_high"))
    assert row.difference[0] == pytest.approx(row.built[0] - row.design[0])
    assert row.tested[:2] == (7, 9) and row.tested[2:] == exact_interval(7, 9, float(results.attrs["confidence"]))
    walked = [each for each in rows if each.tested]
    assert len(walked) == 2 and all(each.weather == weather for each in walked)


def test_the_table_shows_what_changed(results):
    """Catches: a table of every segment, walked places left out, a difference that is not certain."""
    tables = [block for block in both_blocks(results) if isinstance(block, Table)]
    assert [name for name, _ in tables[1].columns] == ["place", "class", "design", "built", "built − design"]
    assert 0 < len(tables[1].rows) <= MOST_ROWS
    section, at = str(results["section"].values[3]), float(results["chainage_m"].values[3])
    shown = [block for block in both_blocks(results, {(section, at): (5, 6)}) if isinstance(block, Table)][1]
    assert shown.columns[4][0] == "tested" and shown.rows[0][4].startswith("5 of 6 (0.36 to ")
    assert "No segment's Pd differs for certain, and none changes its verdict." in words_of(both_blocks(flat(0.0)))


def test_the_object_has_every_segment(results):
    said = both_object(results)
    assert len(said["segments"]) == results.sizes["weather"] * results.sizes["segment"]
    first = said["segments"][0]
    assert {"section", "chainage_m", "place", "weather", "design", "built", "difference", "tested"} == set(first)
    assert first["tested"] is None and np.isclose(first["design"]["pd"], float(results["pd"].values[0, 0, 0]), equal_nan=True)
