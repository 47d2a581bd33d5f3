"""A trade-off for real, on one small fence: shared draws, both sides monotone, the same bits whatever the threads."""

import numpy as np
import pytest

import fencecast as fc
from estimate.nuisance_sites import CAT, INSECT, nuisance_site
from fencecast.decide.tradeoff.run import tradeoff
from fencecast.errors import UsageError
from fencecast.estimate.store import open_results, save_results
from fencecast.findings.methods import methods_of
from kernels.kernel_sites import NIGHT

ASKED = {"threshold": "3.5,8,20", "least_size": "0.45", "offset_m": "2", "crossings": 32}


@pytest.fixture(scope="module")
def site():
    return nuisance_site(CAT, INSECT, weather=(NIGHT,), segment_length_m=5.0)


@pytest.fixture(scope="module")
def traded(site):
    return tradeoff(site, **ASKED, threads=1)


def row(results, label):
    return results.sel(setting=label)


def test_a_lower_threshold_never_has_fewer_alarms_nor_a_lower_pd(traded):
    """On common draws it holds in every cell, not on average. Catches: settings that meet crossings of their own."""
    low, base, high, highest = (row(traded, name) for name in ("threshold 3.5", "as it is", "threshold 8", "threshold 20"))
    for more, less in ((low, base), (base, high), (high, highest)):
        assert (more["pd"].values >= less["pd"].values - 1e-12).all()
        assert (more["nuisance_cause_year"].values >= less["nuisance_cause_year"].values - 1e-12).all()
    assert float(low["nuisance_year"]) > float(highest["nuisance_year"]) and float(low["pd"].sum()) > float(highest["pd"].sum())


def test_a_size_gate_never_has_more_alarms_nor_a_higher_pd(traded):
    base, gate = row(traded, "as it is"), row(traded, "least size 0.45")
    assert (gate["pd"].values <= base["pd"].values + 1e-12).all()
    assert (gate["nuisance_cause_year"].values <= base["nuisance_cause_year"].values + 1e-12).all()
    cats = traded["nuisance_cause_year"].sel(stimulus="cat")
    assert float(cats.sel(setting="least size 0.45")) < 0.9 * float(cats.sel(setting="as it is"))


def test_the_base_is_that_of_a_run_and_threads_change_no_bit(site, traded):
    """Catches: other crossings than those of `run`, sums that depend on threads."""
    run = fc.run(site, precision=0.5, max_crossings=32, threads=1)
    run_pd = run["pd"].values[run["crossings"].values == 32]
    assert run_pd.size and np.isin(run_pd, row(traded, "as it is")["pd"].values).all()
    assert float(run["nuisance_cause_year"].sel(stimulus="insect")) == pytest.approx(
        float(row(traded, "as it is")["nuisance_cause_year"].sel(stimulus="insect")), rel=1e-12
    )
    again = tradeoff(site, **ASKED, threads=3)
    assert all(traded[name].equals(again[name]) for name in traded.variables)


def test_the_file_holds_all_with_units_and_is_opened_again(traded, tmp_path):
    save_results(traded, tmp_path / "tradeoff.nc")
    opened = open_results(tmp_path / "tradeoff.nc")
    assert opened["setting"].values.tolist() == [
        "as it is", "threshold 3.5", "threshold 8", "threshold 20", "least size 0.45", "offset 2"
    ]  # fmt: skip
    assert all(opened[name].attrs["units"] and opened[name].attrs["long_name"] for name in opened.variables)
    assert opened["meets_m"].dims == ("setting",) and opened["stimulus"].values.tolist() == ["cat", "insect", "sensor noise"]
    total = opened["nuisance_cause_year"].sum("stimulus")
    assert np.allclose(total, opened["nuisance_year"]) and (opened["nuisance_year_low"] <= opened["nuisance_year"]).all()
    assert opened.attrs["nuisance_asked"] == 1 and methods_of(opened).kind == "trade-off"
    with pytest.raises(UsageError, match="results of `fencecast tradeoff`"):
        fc.report(opened)


def test_without_stimuli_metres_are_the_same_and_alarms_are_unknown(site, traded):
    """Catches: sensor noise called the alarms of a setting, crossings that stimuli change."""
    bare = tradeoff(site.replace(stimulus=()), **ASKED, threads=1)
    assert bare["pd"].equals(traded["pd"]) and bare["meets_m"].equals(traded["meets_m"])
    assert np.isnan(bare["nuisance_year"]).all() and not bare["dominated"].any() and bare.attrs["nuisance_asked"] == 0
    assert "stimulus" not in bare.dims


@pytest.mark.parametrize("crossings", [8, 100, 8192])
def test_crossings_that_cannot_be_shared_out_are_refused(site, crossings):
    with pytest.raises(UsageError, match=f"crossings {crossings} is not allowed: a multiple of 8 from 16 to 4096; type for"):
        tradeoff(site, crossings=crossings)
