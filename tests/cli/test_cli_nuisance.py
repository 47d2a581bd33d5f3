"""`fencecast run` of a site that names what may raise alarms and is no intrusion: --json, pictures, console.

Its stimuli stand on no ground, so that no loop of bodies is compiled.
"""

import io
import json
import os
from contextlib import redirect_stdout

import pytest
from command_line import PICTURES, TINY, flat, typed
from scipy.stats import gamma

import fencecast as fc
from fencecast.cli.output import say_blocks
from fencecast.estimate.results import Results
from fencecast.findings.run import run_blocks

STIMULI = """
[nuisance]
attempts_per_year = 2.0

[[stimulus]]
kind = "insect"
active = { air_temperature_c = [-50.0, 60.0] }

[[stimulus]]
kind = "web"
name = "webs of the shed"
active = { air_temperature_c = [-50.0, 60.0] }

[[soak]]
cause = "insect"
nights = 14
alarms = 20
"""


SITE = TINY.replace("[site]", "[requirement]\nnuisance_per_night = 50.0\n\n[site]") + STIMULI


@pytest.fixture(scope="module")
def asked(tmp_path_factory):
    """One run of the tiny site with stimuli, --json and pictures; its folder."""
    folder = tmp_path_factory.mktemp("nuisance")
    (folder / "tiny.toml").write_text(SITE)
    here = os.getcwd()
    os.chdir(folder)
    try:
        return typed("run", "tiny.toml", "--json", "--precision", "0.1"), folder / "tiny-results"
    finally:
        os.chdir(here)


def test_json_and_pictures_are_of_the_results_file(asked):
    """Catches: a key that the run does not fill, pictures that are not drawn or not said, results without their variables."""
    ended, folder = asked
    said = json.loads(ended.out, parse_constant=pytest.fail)["nuisance"]
    results = fc.open_results(folder / "results.nc")
    assert said["asked"] is True and said["per_night"] == float(results["nuisance_year"]) > 0.0
    assert said["low"] <= said["per_night"] <= said["high"] and said["ceiling"] == 50.0 and said["met"] == "met"
    assert [each["name"] for each in said["causes"]][-1] == "sensor noise" and len(said["causes"]) == 3
    assert sum(each["per_night"] for each in said["causes"]) == pytest.approx(said["per_night"])
    assert sum(each["share"] for each in said["causes"]) == pytest.approx(1.0)
    assert [each["name"] for each in said["classes"]] == ["thick fog", "clear night"]  # worst first, as in the tables
    assert {"nuisance.png", "nuisance-plan.png"} <= set(os.listdir(folder))
    assert "A web or flag that blinds" in results.attrs["not_modelled"]
    assert not [line for line in results.attrs["not_modelled"].splitlines() if line.startswith("Nuisance alarms (animals")]


def test_plot_draws_them_again(asked, tmp_path):
    """Catches: pictures that need more than the results file."""
    _, folder = asked
    assert typed("plot", str(folder / "results.nc"), "-o", str(tmp_path / "again")).code == 0
    drawn = sorted(os.listdir(tmp_path / "again"))
    assert drawn == sorted([*PICTURES, "nuisance.png", "nuisance-plan.png", "manifest.json"])


def test_the_console_says_them(asked):
    """Catches: a headline that is lost, a log from the site that is not shown, `not asked` beside numbers, a wide table."""
    _, folder = asked
    results = Results(fc.open_results(folder / "results.nc"))
    said = io.StringIO()
    with redirect_stdout(said):
        say_blocks(run_blocks(results, ["tiny-results/results.nc"], []))
    text = flat(said.getvalue())
    assert "Nuisance alarms: " in text
    assert "The ceiling of 50 a night on average is met in this model, even by the upper end." in text
    assert "webs of the shed" in text and "insects near the lens 20 in 14 nights" in text
    assert "not asked" not in text and max(map(len, said.getvalue().splitlines())) <= 100


def test_a_count_on_site_moves_the_rate_and_what_was_assumed_stays(asked):
    """20 alarms of insects in 14 nights: a Gamma prior of a = 1 / (exp(0.5605^2) - 1) = 2.709 and the mean assumed becomes one of
    (a + 20) / (a / assumed + 14). Catches: a count that is read and not used, one that other causes feel, a prior that nobody can
    see any more."""
    ended, folder = asked
    results = fc.open_results(folder / "results.nc")
    soak = SITE[SITE.index("[[soak]]") :]
    plain = fc.run(fc.parse_site(SITE.replace(soak, "")), precision=0.5, max_crossings=16)
    before, after = (
        {str(name): float(rate) for name, rate in zip(each["stimulus"].values, each["nuisance_cause_year"].values)}
        for each in (plain, results)
    )
    rate = before["insect"]  # uneven nights (k = 0.5) count for less: of effective nights, the rate that agrees with itself
    for _ in range(50):
        uneven = 1.0 + rate / 0.5
        rate = (2.709 + 20 / uneven) / (2.709 / before["insect"] + 14 / uneven)
    assert after["insect"] == pytest.approx(rate, rel=0.01)
    assert after["webs of the shed"] == before["webs of the shed"]
    (log,) = json.loads(ended.out)["nuisance"]["logs"]
    assert (log["cause"], log["nights"], log["alarms"]) == ("insect", 14, 20)
    assert log["assumed"] == pytest.approx(before["insect"]) and log["rate"] == pytest.approx(after["insect"])
    assert log["rate_low"] < log["rate"] < log["rate_high"] and log["counted"] == pytest.approx(20 / 14)
    # Surer than before: a factor of three either way, narrowed by what 20 alarms of uneven nights are worth.
    worth = 2.709 + 20 / uneven
    assert log["rate_high"] / log["rate"] == pytest.approx(gamma(worth).ppf(0.975) / worth, rel=0.01)
