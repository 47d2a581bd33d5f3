"""`fencecast run --installations`: the number and where it may stand, what the report and the JSON object say."""

import json

import numpy as np
import pytest
from command_line import QUICK, TINY, flat, typed

import fencecast as fc

BUILT = TINY + "\n[tolerance]\nbearing_deg = 2.0\ndepression_deg = 5.0\n"
STILL = TINY.replace("netd_mk = 50.0", "netd_mk = 50.0\nnetd_spread = 0.0")
BOTH = ("--max-crossings", "64", *QUICK)
FEW = (*BOTH, "--weather", "clear night")
HEADING = "Yards as built"


@pytest.fixture
def built(yard):
    """still.toml without spreads, built.toml with errors of mounting."""
    (yard / "still.toml").write_text(STILL)
    (yard / "built.toml").write_text(BUILT)
    return yard


def installations_in(folder: str) -> int:
    with fc.open_results(f"{folder}/results.nc") as results:
        return results.sizes.get("installation", 0)


@pytest.mark.parametrize(
    ("words", "count"),
    [
        (("built.toml", "--installations"), 32),
        (("--installations", "built.toml"), 32),
        (("built.toml", "--installations", "8"), 8),
        (("--installations=8", "built.toml"), 8),
        (("built.toml",), 0),
    ],
)
def test_the_number_may_be_left_out_wherever_the_option_stands(built, words, count):
    """Catches: a bare option that takes the site's name for its number, or another number than the one that was typed."""
    ended = typed("run", *words, *FEW, "-o", "out")
    assert ended.code == 0, ended.err
    assert installations_in("out") == count and (HEADING in ended.out) == (count > 0)


@pytest.mark.parametrize("number", ["0", "1", "-3", "1025", "2.5", "many"])
def test_refused_numbers_leave_no_folder(built, number):
    """Catches: a number that says nothing accepted, or refused after the folder was made or the crossings were run."""
    ended = typed("run", "built.toml", f"--installations={number}", *FEW, "-o", "out")
    assert ended.code == 2 and ended.out == "" and "installations" in ended.err
    assert not (built / "out").exists()
    if number.lstrip("-").isdigit():
        assert f"installations {number} is not allowed: a whole number from 2 to 1024" in flat(ended.err)


def test_report_and_object_say_what_the_results_hold(built):
    """Catches: a sentence and numbers of different runs; an object without the spread, or one that nobody asked for."""
    said = json.loads(typed("run", "built.toml", "--installations", "8", "--json", *BOTH, "-o", "object").out)
    ended = typed("run", "built.toml", "--installations", "8", *BOTH, "-o", "told")
    told = ended.out
    assert "Yards as built, one after the other ..." in ended.err.splitlines()
    found = said["installations"]
    with fc.open_results("object/results.nc") as results:
        lowest = np.nanmin(results["pd_installation"].values, axis=(1, 2))
        low, high = (results[f"pd_installation_mean{end}"].values for end in ("_low", "_high"))
        mean = results["pd_installation"].values.mean(axis=0)
    assert found["count"] == 8 and found["meeting"] == int((lowest >= 0.9).sum())
    assert [found["lowest_10"], found["lowest_90"]] == pytest.approx(np.quantile(lowest, (0.1, 0.9)).tolist())
    assert found["spreads"] == [
        "bearing within 2 degrees",
        "depression within 5 degrees",
        "noise of units (NETD) within 10 %",
    ]
    assert np.all((low <= mean) & (mean <= high) & (low < high))
    assert found["sentence"].startswith("Built within 5 degrees, ") and found["sentence"] in flat(told)
    assert {"place", "weather", "pd_10", "pd_90", "meets_share"} <= set(found["stretches"][0])
    assert "installations" not in json.loads(typed("run", "built.toml", "--json", *BOTH, "-o", "plain").out)


def test_a_site_without_spreads_is_told_what_to_type(built):
    """Catches: "built within" where nothing is drawn; a table of installations that are all the same."""
    ended = typed("run", "still.toml", "--installations", "5", *FEW, "-o", "out")
    part = flat(ended.out[ended.out.index(HEADING) :])
    assert ended.code == 0 and "all 5 are the same yard. Type [tolerance] bearing_deg = 1.0" in part
    assert "Built within" not in ended.out and "yards that meet" not in ended.out
    with fc.open_results("out/results.nc") as results:
        assert results.sizes["installation"] == 5 and np.all(np.ptp(results["pd_installation"].values, axis=0) == 0.0)
