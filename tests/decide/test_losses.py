"""Losing equipment: what the shortcut leaves out is exactly zero, sites without cameras, services, and the order of losses."""

import copy

import numpy as np
import pytest
import xarray as xr

import fencecast as fc
from decide.compare.two_designs import site_of_table
from fencecast.decide.compare.paired import lockstep
from fencecast.decide.losses import lose_each, losses_of, newly_weak_m, plan_without, touched_cells, worst_losses
from fencecast.errors import UnknownNameError, UsageError
from fencecast.estimate.results import Results
from fencecast.estimate.simulate import advance, new_tally
from fencecast.findings.losses import worst_text
from fencecast.kernels.crossing import SUM_PD
from fencecast.kernels.pack import pack_cells, pack_plan
from fencecast.site import without_cameras
from statistical.trial import base, fence


def yard() -> dict:
    """Two fences: both cameras along the first, one of them alone on the second; mounting errors drawn, two share a mast."""
    table = base()
    table["tolerance"] = {"bearing_deg": 1.0, "depression_deg": 1.0, "height_m": 0.05}
    table["perimeter"] = [fence("south", [[0.0, 0.0], [40.0, 0.0]]), fence("east", [[40.0, 0.0], [40.0, 16.0]])]
    third = table["camera"][1] | {"mark": "N", "bearing_deg": 0.0, "position_m": [39.0, -4.0]}
    table["camera"] = [table["camera"][0], table["camera"][1] | {"depends_on": "mast"}, third | {"depends_on": "mast"}]
    table["rule"] = [{"kind": "line", "perimeter": "south", "cameras": ["W", "E"]}]
    table["rule"] += [{"kind": "line", "perimeter": "east", "cameras": ["N"]}]
    return table


@pytest.fixture(scope="module")
def lost():
    """(site, results of a run with every camera lost in turn)."""
    site = site_of_table(yard())
    results = fc.run(site, precision=0.05, max_crossings=256)
    return site, lose_each(results, "camera", 256)


def test_what_is_not_simulated_again_is_exactly_equal(lost):
    """Every loss simulated in full, and the site without the camera simulated alone: the same Pd to the last bit.

    Catches: a shortcut that skips cells in which a lost camera counted; draws that move when a camera leaves.
    """
    site, _ = lost
    plan, cells = pack_plan(site), pack_cells(site, site.seed)
    marks = [camera.mark for camera in site.camera]
    everywhere = np.ones(len(cells.key), dtype=bool)
    for mark in marks:
        gone = np.array([each == mark for each in marks])
        plans, strata = [plan, plan_without(plan, gone)], [cells, cells]
        full = lockstep(plans, strata, everywhere, 0.5, 0.95, 128)[1]

        def touched(_, base, gone=gone):
            return touched_cells(gone, base)

        short = lockstep(plans, strata, everywhere, 0.5, 0.95, 128, touched=touched)
        assert np.array_equal(short[1].sums[:, :, SUM_PD], full.sums[:, :, SUM_PD])
        assert short[1].looks < full.looks or mark != "N"  # N counts on one fence only
        reduced = without_cameras(site, [mark])
        alone = new_tally(len(everywhere), 2)
        advance(pack_plan(reduced), pack_cells(reduced, site.seed), alone, np.flatnonzero(everywhere), 16, 1)
        assert np.array_equal(alone.sums[:, :, SUM_PD], full.sums[:, :, SUM_PD])


def test_a_loss_raises_no_pd_and_an_unheard_fence_has_none(lost):
    """Catches: a lost camera that still alarms, 'no data' where nobody listens any more, costs with the wrong sign."""
    _, results = lost
    change = results["pd_loss_change"].values
    assert np.all(change <= 1e-12) and np.any(change < -0.1)
    north = results.sel(loss="N")
    east = results["section"].values == "east"
    assert np.all(north["pd_loss"].values[:, east] == 0.0)
    assert np.all(north["loss_verdict"].values[:, east] == "weak")
    assert np.all(north["pd_loss_change"].values[:, ~east] == 0.0)
    assert newly_weak_m(results)[2, 0] == pytest.approx(4.0 * np.sum(east & (results["verdict"].values[0] != "weak")))
    lengths = (results["segment_end_m"] - results["segment_start_m"]).values
    assert north["loss_mean_change"].values[0] == pytest.approx(np.average(north["pd_loss_change"].values[0], weights=lengths))
    fresh = north["pd_loss_fresh"].values
    assert np.sum(~np.isnan(fresh)) == 1 and np.nanmin(fresh) == 0.0


def test_a_site_without_a_camera(lost):
    """Its rules go on for others, one that hears nobody stays armed, and the text that goes into results can be read."""
    site, _ = lost
    reduced = without_cameras(site, ["N", "W"])
    assert [camera.mark for camera in reduced.camera] == ["E"] and [rule.cameras for rule in reduced.rule] == [("E",), ()]
    assert (reduced.title, reduced.sha256) == ("Trial site without N and W", site.sha256)
    results = fc.run(reduced, precision=0.1)
    assert np.all(results["pd"].values[:, results["section"].values == "east"] == 0.0)
    assert np.all(results["miss_share"].sel(cause="not in view").values[:, results["section"].values == "east"] == 1.0)
    again = fc.parse_site(results.attrs["site_toml"])
    assert [camera.mark for camera in again.camera] == ["E"] and len(again.rule) == 1
    assert results.attrs["site_toml"].startswith(f"# From the site file with SHA-256 {site.sha256}, without N and W.\n")
    assert without_cameras(site, []) is site


def test_marks_that_cannot_be_taken_away(lost):
    site, _ = lost
    with pytest.raises(UnknownNameError, match='camera "n" is not known: did you mean "N"'):
        without_cameras(site, ["n"])
    with pytest.raises(UsageError, match="without W, E and N no rule listens to any camera any more"):
        without_cameras(site, ["W", "E", "N"])


def test_what_shares_a_service_fails_together(lost):
    """Catches: cameras without a service lost together, a name that stands for two things."""
    site, results = lost
    assert [(loss.name, loss.marks) for loss in losses_of(site, "depends_on")] == [("W", ("W",)), ("mast", ("E", "N"))]
    table = copy.deepcopy(yard())
    table["camera"][1]["depends_on"] = table["camera"][2]["depends_on"] = "W"
    names = [loss.name for loss in losses_of(site_of_table(table), "depends_on")]
    assert names == ["camera W", "depends_on W"]
    with pytest.raises(UsageError, match='one of "camera", "depends_on"'):
        losses_of(site, "mast")
    together = lose_each(results.drop_dims("loss"), "depends_on", 256, site=site)
    apart = results["pd_loss"].sel(loss=["E", "N"]).values.min(axis=0)
    assert np.all(together["pd_loss"].sel(loss="mast").values <= apart + 1e-9)


def test_the_worst_loss_is_the_one_with_most_metres_over_the_year():
    """By hand. Catches: hours left out, metres counted as segments, a tie that ignores the mean."""
    newly = np.zeros((3, 2, 3), dtype=np.int8)
    newly[0, 0] = [1, 1, 0]  # 6 m in the rare class
    newly[1, 1] = [0, 0, 1]  # 1 m in the common one
    results = xr.Dataset(
        {
            "loss_newly_weak": (("loss", "weather", "segment"), newly),
            "loss_mean_change": (("loss", "weather"), [[-0.1, 0.0], [0.0, -0.1], [-0.5, -0.5]]),
            "weather_hours": ("weather", [100.0, 1000.0]),
            "segment_start_m": ("segment", [0.0, 3.0, 6.0]),
            "segment_end_m": ("segment", [3.0, 6.0, 7.0]),
        }
    )
    assert worst_losses(results) == [1, 0, 2]
    results["weather_hours"].values[:] = 0.0
    assert worst_losses(results) == [0, 1, 2]


def test_rows_are_ordered_by_a_column_that_is_shown_and_what_adds_nothing_is_said(lost):
    """A camera far away that sees no fence is planted. Catches: rows by a number nobody sees, a camera praised for nothing."""
    from fencecast.estimate.results import Results
    from fencecast.findings.blocks import Line, Table
    from fencecast.findings.losses import loss_blocks, loss_rows

    table = yard()
    table["camera"].append(table["camera"][0] | {"mark": "F", "position_m": [-900.0, -900.0], "bearing_deg": 200.0})
    table["rule"][0]["cameras"] = ["W", "E", "F"]
    results = Results.of(lose_each(fc.run(site_of_table(table), precision=0.1), "camera", 128))
    rows, blocks = loss_rows(results), loss_blocks(results)
    first = next(block for block in blocks if isinstance(block, Table))
    shown = [float(str(getattr(row[1], "text", row[1]))) for row in first.rows]
    assert shown == sorted(shown, reverse=True) and shown[0] > 0.0
    assert [row["loss"] for row in rows if row["adds_nothing"]] == ["F"]
    said = " ".join(block.text for block in blocks if isinstance(block, Line))
    assert "F adds nothing that shows here: without it no segment's mean Pd over yards fell by 0.005 in any" in said
    open_to = -float(results["pd_loss_change_low"].sel(loss="F").min())
    assert f"leave up to {open_to:.2f} open)." in said
    assert "the mean over yards as built" in said


def test_a_loss_is_called_a_mean_only_where_yards_differ(lost):
    """Catches: "of these yards a loss costs more" where all are the same yard; a mean over errors that is not called one."""
    from fencecast.findings.installations import yards_differ
    from fencecast.findings.losses import mean_words, nothing_text

    site, _ = lost
    exact = site.replace(tolerance={})
    doubted = exact.replace(decision={"cycles_50": {"median": 2.0, "sigma_ln": 0.15}})
    assert [yards_differ(each) for each in (site, exact, doubted)] == [True, False, True]
    run = [Results.of(fc.run(each, precision=0.5, max_crossings=16)) for each in (site, exact)]
    assert "in some of them a loss costs more" in mean_words(run[0]) and mean_words(run[1]) == ""
    assert nothing_text(["F"], 2, {"F": 0.01}, False) == (
        "F adds nothing that shows here: without it no segment's Pd fell by 0.005 in any weather class (intervals leave up to "
        "0.01 open)."
    )


def test_the_costliest_loss_is_named_with_its_equals():
    """By hand. Catches: one of two losses that cost the same said to cost most; `most in fog` where every class has as many;
    metres of less than a half that become none."""
    row = {"cameras": ["W"], "newly_weak_year_m": 12.04, "newly_weak_m": 12.04, "most_in": "fog", "in_every": True}
    less = row | {"cameras": ["E"], "newly_weak_year_m": 3.0, "newly_weak_m": 4.0, "in_every": False}
    assert worst_text([row, less]) == "Losing W costs most: 12.0 m newly weak over the year, as much in every class."
    assert worst_text([less]) == "Losing E costs most: 3.0 m newly weak over the year, most in fog: 4.0 m."
    twin = row | {"cameras": ["N", "S"], "newly_weak_year_m": 11.96}
    assert worst_text([row, twin, less]) == "Losing W or N and S costs most: 12.0 m newly weak over the year with each of them."
    none = less | {"newly_weak_year_m": 0.0, "newly_weak_m": 0.0}
    assert worst_text([none]) == "No single loss makes a metre weak that was not weak before."
    assert worst_text([none | {"newly_weak_m": 0.4}]).startswith("No single loss makes as much as 0.1 m weak")
