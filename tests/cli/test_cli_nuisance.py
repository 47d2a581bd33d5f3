"""`fencecast run` of a site that names what may raise alarms and is no intrusion: console, --json, pictures, --require.

Its stimuli stand on no ground, so that no loop of bodies is compiled.
"""

import json
import os

import pytest
from command_line import PICTURES, QUICK, TINY, flat, typed

import fencecast as fc

STIMULI = """
[nuisance]
attempts_per_year = 2.0

[[stimulus]]
kind = "insect"

[[stimulus]]
kind = "web"
name = "webs of the shed"

[[soak]]
cause = "insect"
nights = 14
alarms = 20
"""


def with_ceiling(per_night: float) -> str:
    return TINY.replace("[site]", f"[requirement]\npd = 0.5\nnuisance_per_night = {per_night}\n\n[site]") + STIMULI


@pytest.fixture(scope="module")
def asked(tmp_path_factory):
    """One run of the tiny site with stimuli, --json and pictures; its folder."""
    folder = tmp_path_factory.mktemp("nuisance")
    (folder / "tiny.toml").write_text(with_ceiling(50.0))
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
    assert "A moving web, flag or cover" in results.attrs["not_modelled"]
    assert not [line for line in results.attrs["not_modelled"].splitlines() if line.startswith("Nuisance alarms (animals")]


def test_plot_draws_them_again(asked, tmp_path):
    """Catches: pictures that need more than the results file."""
    _, folder = asked
    assert typed("plot", str(folder / "results.nc"), "-o", str(tmp_path / "again")).code == 0
    drawn = sorted(os.listdir(tmp_path / "again"))
    assert drawn == sorted([*PICTURES, "nuisance.png", "nuisance-plan.png", "manifest.json"])


def test_the_console_says_them_and_a_ceiling_counts_for_require(yard):
    """Catches: a headline that is lost; --require that passes a ceiling that is not met, or fails a site that asks for none."""
    (yard / "tiny.toml").write_text(with_ceiling(0.01))
    ended = typed("run", "tiny.toml", "--require", "--weather", "clear night", *QUICK)
    text = flat(ended.out)
    assert "Nuisance alarms: " in text and "The ceiling of 0.01 a night is not met, even by the lower end." in text
    assert "webs of the shed" in text and "insects near the lens 20 in 14 nights" in text
    assert "not asked" not in text and max(map(len, ended.out.splitlines())) <= 100
    assert ended.code == 3
    (yard / "tiny.toml").write_text(TINY.replace("[site]", "[requirement]\npd = 0.5\n\n[site]"))
    ended = typed("run", "tiny.toml", "--require", "--weather", "clear night", "--force", *QUICK)
    assert ended.code == 0
    assert "Nuisance alarms (animals, insects, branches, passers-by): not asked; this number is sensor noise alone." in flat(
        ended.out
    )
