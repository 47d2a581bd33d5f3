"""Yards as built: what an installation fixes once, against files with those values typed in and an independent Monte Carlo."""

from __future__ import annotations

import json

import numpy as np
import pytest
from scipy.stats import norm
from statsmodels.stats.proportion import proportion_confint

import fencecast as fc
from fencecast.errors import UsageError
from fencecast.estimate import installations
from fencecast.estimate.installations import as_drawn, installation_plans, simulate_installations, wilson
from fencecast.estimate.results import Results
from fencecast.estimate.simulate import advance, new_tally
from fencecast.findings.comparison import plain_sentence
from fencecast.findings.installations import differ_in_spread_alone, headline, installations_of, spread_words
from fencecast.kernels.crossing import SUM_PD
from fencecast.kernels.pack import pack_cells, pack_plan, watched_sections
from fencecast.sampling.installations import camera_units, decision_units
from kernels.kernel_sites import CAMERA, CORE, make_site
from statistical import second_model
from statistical.trial import DATA

EXPECTED = json.loads((DATA / "second-model.json").read_text(encoding="utf-8"))
CONFIGS = DATA.parents[1] / "configs"
QUIET = CORE | {"netd_spread": 0.0}
OTHER = CAMERA | {"mark": "C2", "position_m": [40.0, 2.0], "aim_m": [24.0, 2.0]}


def pd_installed(site, count, most=2048, precision=0.02, of_spread=1.0 / 6.0):
    """InstallationPd of all cells of a site."""
    plan, cells = pack_plan(site), pack_cells(site, site.seed)
    plans = installation_plans(plan, tuple(camera.mark for camera in site.camera), site.seed, count)
    return simulate_installations(
        as_drawn(plan), plans, cells, watched_sections(site)[cells.section], precision, most, of_spread=of_spread
    )


def test_without_spreads_all_installations_are_one():
    """Catches: draws that reach an installation without a spread, crossings that are not the same for all."""
    found = pd_installed(make_site(sensor=QUIET, segment_length_m=8.0), 5, most=256)
    assert np.all(np.ptp(found.pd, axis=0) == 0.0) and 0.1 < found.pd.min() < 0.9


def test_the_draws_of_a_camera_are_its_own():
    """Catches: draws by place in the file or by the number asked for, dimensions that two groups share (padded points of two
    cameras in one order correlate by 1); every first 2^k are stratified, which random draws are not."""
    units = camera_units(7, "C1", 64)
    assert np.array_equal(camera_units(7, "C1", 16), units[:16])
    for count in (4, 16, 64):
        assert np.all(np.sort(np.floor(units[:count] * count), axis=0) == np.arange(count)[:, None])
    rest = np.hstack([camera_units(7, "C2", 64), decision_units(7, 64), camera_units(8, "C1", 64)])
    together = np.corrcoef(np.hstack([units, rest]).T) - np.eye(16)
    assert np.abs(together).max() < 0.5  # four standard errors of a correlation over 64
    one, both = make_site(tolerance={"bearing_deg": 1.0}), make_site(camera=[OTHER, CAMERA], tolerance={"bearing_deg": 1.0})
    alone = installation_plans(pack_plan(one), ("C1",), 7, 8)
    beside = installation_plans(pack_plan(both), ("C2", "C1"), 7, 8)
    for a, b in zip(alone, beside):
        assert a.cameras.bearing_rad[0] == b.cameras.bearing_rad[1] != pack_plan(one).cameras.bearing_rad[0]
        assert a.cameras.netd_k[0] == b.cameras.netd_k[1]


def test_quantiles_of_pd_are_pd_at_quantiles_of_the_error():
    """Catches: errors of another size or sign, quantiles from noise. One camera, one segment, depression alone; Pd rises with
    depression all the way here, so the quantiles of one are those of the other: files with the depression typed in."""
    tilt, sd = 6.0, 1.0
    camera = {key: value for key, value in CAMERA.items() if key != "aim_m"} | {"bearing_deg": 90.0}
    fence = {"name": "fence", "points_m": [[4.0, 0.0], [8.0, 0.0]], "inside": "left"}
    base = {"perimeter": [fence], "sensor": QUIET, "segment_length_m": 4.0}
    site = make_site(camera=[camera | {"depression_deg": tilt}], tolerance={"depression_deg": sd}, **base)
    # A run stops at a sixth of the spread, 0.01 here: finer, to see 0.01.
    found = pd_installed(site, 128, precision=0.01, of_spread=0.02)
    for share in (0.1, 0.5, 0.9):
        typed = make_site(camera=[camera | {"depression_deg": tilt + sd * float(norm.ppf(share))}], **base)
        there = pd_installed(typed, 2, precision=0.01).pd[0, 0]
        assert np.quantile(found.pd[:, 0], share) == pytest.approx(there, abs=0.01), share
    assert np.ptp(np.quantile(found.pd[:, 0], (0.1, 0.9))) > 0.05


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "count", "chosen"), [("gap-under-mast", 60, (20, 21, 44, 45)), ("estuary-yard", 8, (138, 463, 464, 812))]
)
def test_points_of_a_run_are_those_of_a_fine_one(name, count, chosen):
    """A run's 10 and 90 % points against many times the crossings, in cells where installations differ much or not at all.

    Catches: installations that stop after 32 crossings because those agree by chance (0.07 and 0.10 off in two cells of the gap),
    a stop by the spread alone where that is wide; crossings that agree by chance preferred to the yard as drawn, which has seen
    many more (0.05 off in cells of the yard). A run stops at 0.01, and a point lies between two installations: 0.015."""
    site = fc.load_site(CONFIGS / f"{name}.toml").replace(tolerance={"bearing_deg": 1.0, "depression_deg": 1.0})
    plan, cells = pack_plan(site), pack_cells(site, site.seed)
    plans = installation_plans(plan, tuple(camera.mark for camera in site.camera), site.seed, count)
    hard = np.isin(np.arange(len(cells.weather)), chosen)
    ran = simulate_installations(as_drawn(plan), plans, cells, hard, 0.02, 2048)
    fine = simulate_installations(as_drawn(plan), plans, cells, hard, 0.01, 8192, of_spread=0.04)
    assert fine.se[:, hard].max() < 0.005
    points, better = (np.quantile(found.pd[:, hard], (0.1, 0.9), axis=0) for found in (ran, fine))
    assert np.abs(points - better).max() < 0.015
    assert np.all(better[0] < 0.97) and np.all(better[1] > 0.03)


@pytest.mark.parametrize("spread", second_model.SPREADS)
def test_pd_drawn_by_crossing_is_that_of_the_independent_code(spread):
    """Catches: a draw by crossing that is not used, not cut, or scaled otherwise than the independent code does."""
    site, expected = fc.Site(**second_model.installed(**second_model.SPREADS[spread])), EXPECTED["drawn by crossing"][spread]
    tally = run_to(pack_plan(site), site, 512)
    bound = 5.0 * np.hypot(tally.se()[0], expected["se"])
    assert abs(tally.mean(SUM_PD)[0] - expected["pd"]) < bound < 0.03


@pytest.mark.parametrize("spread", second_model.SPREADS)
def test_spread_of_the_independent_code(spread):
    """Catches: a value drawn for each crossing where it is the installation's, a spread that is not used, cut or scaled.

    256 installations of the independent code: 5 standard errors of each quantile, and 0.01."""
    site = fc.Site(**second_model.installed(**second_model.SPREADS[spread]))
    found, expected = pd_installed(site, 256, precision=0.02).pd[:, 0], EXPECTED["installations"][spread]
    assert found.mean() == pytest.approx(expected["mean"], abs=5.0 * expected["sd"] / 16.0 * 1.1)
    for share, value in expected["quantiles"].items():
        bound = 5.0 * np.hypot(expected["quantiles_se"][share], found.std() / 16.0) + 0.01
        assert abs(np.quantile(found, float(share)) - value) < bound, share
    assert found.std() == pytest.approx(expected["sd"], rel=0.25)  # five standard errors of a standard deviation over 256


@pytest.mark.parametrize("spread", second_model.SPREADS)
def test_pd_of_a_run_is_the_mean_over_installations(spread):
    """Catches: a draw by crossing from another distribution than that of installations; a mean over 256 has sd / 16."""
    site = fc.Site(**second_model.installed(**second_model.SPREADS[spread]))
    results = fc.run(site, precision=0.01)
    expected = EXPECTED["installations"][spread]
    pd, low, high = (float(results[name].values[0, 0]) for name in ("pd", "pd_low", "pd_high"))
    assert abs(pd - expected["mean"]) < high - low + 5.0 * expected["sd"] / 16.0
    found = pd_installed(site, 64).pd[:, 0]
    assert abs(found.mean() - pd) < 0.5 * (high - low) + 3.0 * found.std() / 8.0


SPREAD = {
    "cycles_50": {"median": 2.0, "sigma_ln": 0.15},
    "encounter_correlation": {"dist": "uniform", "low": 0.2, "high": 0.8},
    "threshold_sigma": {"dist": "uniform", "low": 4.0, "high": 6.0},
    "clutter_factor": {"median": 1.0, "sigma_ln": 0.5},
}
# All sizes differ: one of them used for another shows.
ERRORS = {"bearing_deg": 3.0, "depression_deg": 2.0, "height_m": 0.2}
UNITS = CORE | {"netd_spread": 0.2}
FILES = {"segment_length_m": 8.0}


def installed_and_typed(count):
    """A site with spreads of everything, and the site files of its first installations with those values typed in."""
    site = make_site(camera=[CAMERA, OTHER], sensor=UNITS, decision=SPREAD, tolerance=ERRORS, **FILES)
    units = {mark: norm.ppf(camera_units(site.seed, mark, count)) for mark in ("C1", "C2")}
    drawn, files = decision_units(site.seed, count), []
    for i in range(count):
        cameras, sensors = [], {}
        for camera in site.camera:
            netd, bearing, depression, height = units[camera.mark][i]
            sensors[camera.mark] = QUIET | {"netd_mk": CORE["netd_mk"] * np.exp(0.2 * netd)}
            cameras.append(
                {
                    "mark": camera.mark, "position_m": list(camera.position_m), "sensor": camera.mark, "lens": "wide",
                    "height_m": camera.height_m + 0.2 * height, "bearing_deg": camera.bearing_deg + 3.0 * bearing,
                    "depression_deg": camera.depression_deg + 2.0 * depression,
                }
            )  # fmt: skip
        decision = {name: getattr(site.decision, name).quantile(u) for name, u in zip(SPREAD, drawn[i])}
        files.append(site.replace(camera=cameras, sensors=sensors, decision=decision, tolerance={}))
    return site, files


def run_to(plan, site, points):
    """Tally of every cell of a site at so many points of each scrambling."""
    cells = pack_cells(site, site.seed)
    tally = new_tally(len(cells.weather), len(site.camera))
    advance(plan, cells, tally, np.arange(len(cells.weather)), points, 1)
    return tally


def test_an_installation_is_the_file_with_its_errors():
    """The plan of each installation against a file with its values typed in, on the same crossings: equal but for rounding.

    Catches: an error of another size, sign or camera, a value of the decision that reaches half of the kernel or is drawn again.
    An error of depression that is off by a half moves these cells by 0.01 to 0.3."""
    site, files = installed_and_typed(6)
    plans = installation_plans(pack_plan(site), ("C1", "C2"), site.seed, 6)
    pd = np.array([[run_to(p, file, 8).mean(SUM_PD) for p in (plan, pack_plan(file))] for plan, file in zip(plans, files)])
    assert np.abs(pd[:, 0] - pd[:, 1]).max() < 1e-6
    assert pd.std(axis=0).max() > 0.03


def test_pd_of_an_installation_is_that_of_its_file():
    """Brute force on the same cells: Pd_i within 4 standard errors of both. Catches: a control variate that shifts the answer,
    an installation that goes on through crossings of its own, a stop before the spread is known."""
    site, files = installed_and_typed(4)
    found = pd_installed(site, 4, precision=0.01, of_spread=1.0 / 12.0)
    for i, file in enumerate(files):
        alone = run_to(pack_plan(file), file, 256)
        bound = 4.0 * np.hypot(found.se[i], alone.se())
        assert bound.max() < 0.04 and np.all(np.abs(found.pd[i] - alone.mean(SUM_PD)) < bound + 1e-9), i


def test_the_error_of_the_mean_is_that_between_seeds():
    """The standard error of the mean over the same 8 installations, against its standard deviation over 24 seeds of crossings.

    Catches: an error as if each installation had crossings of its own (here half of it or less), that of one installation alone.
    Bounds: five cells that share nothing have 115 degrees of freedom, 7 % of a standard deviation; four of these, and as much
    again for the errors of eight scramblings."""
    site = make_site(camera=[CAMERA, OTHER], decision=SPREAD, tolerance=ERRORS, sensor=QUIET, segment_length_m=8.0)
    plan = pack_plan(site)
    plans, still = installation_plans(plan, ("C1", "C2"), site.seed, 8), as_drawn(plan)
    found = []
    for seed in range(24):
        cells = pack_cells(site, seed)
        found.append(simulate_installations(still, plans, cells, np.ones(len(cells.weather), dtype=bool), 0.2, 64))
    between = np.var([each.pd.mean(axis=0) for each in found], axis=0, ddof=1).mean()
    within = np.mean([each.mean_se**2 for each in found])
    assert 0.6 < np.sqrt(within / between) < 1.6


def test_results_have_the_mean_with_its_interval():
    """Catches: a mean of other installations than those in the results, an interval that is not around it or not the file's."""
    site = make_site(segment_length_m=8.0, tolerance={"depression_deg": 2.0})
    results = fc.run(site, precision=0.1, max_crossings=128, installations=8)
    mean, low, high = (results[f"pd_installation_mean{end}"].values for end in ("", "_low", "_high"))
    assert mean == pytest.approx(results["pd_installation"].values.mean(axis=0))
    assert np.all((low <= mean) & (mean <= high) & (low < high))


def test_wilson_is_that_of_a_statistics_library():
    """Catches: an interval of another kind (a plain normal one is [1, 1] at 12 of 12)."""
    for meeting in (0, 1, 8, 12):
        assert wilson(meeting, 12, 0.95) == pytest.approx(proportion_confint(meeting, 12, 0.05, "wilson"), abs=1e-9)


def test_results_have_the_spread_and_say_it():
    """Catches: quantiles over another axis, a share of the interval instead of the estimate, words and numbers that disagree."""
    site = make_site(segment_length_m=8.0, tolerance={"bearing_deg": 1.0, "depression_deg": 1.0})
    results = fc.run(site, precision=0.1, max_crossings=128, installations=8)
    pd = results["pd_installation"]
    assert pd.dims == ("installation", "weather", "segment") and pd.shape[0] == 8
    assert np.array_equal(results["pd_installation_10"].values, np.quantile(pd.values, 0.1, axis=0))
    share = (pd.values >= 0.9).mean(axis=0)
    assert np.array_equal(results["installation_meets_share"].values, share)
    assert np.array_equal(results["installation_lowest_pd"].values, pd.values.min(axis=(1, 2)))
    assert all(results[name].attrs["long_name"] and results[name].attrs["units"] for name in results.data_vars)
    found = installations_of(Results(results, site))
    said = headline(Results(results, site), found)
    assert said.startswith("Built within 1 degree, none of 8 yards like this meets everywhere; the weakest metre lies between 0.")
    plain = fc.run(site, precision=0.1, max_crossings=128)
    assert "pd_installation" not in plain and installations_of(Results(plain, site)) is None
    for name in ("pd", "pd_camera", "miss_share", "pd_fresh"):
        assert plain[name].equals(results[name]), name


def test_a_site_without_spread_says_so(monkeypatch):
    """Catches: "built within" of a site where nothing is drawn; N times the work for equal numbers."""
    asked = []
    original = installations.advance
    monkeypatch.setattr(installations, "advance", lambda plan, *rest: asked.append(plan) or original(plan, *rest))
    site = make_site(sensor=QUIET)
    results = Results(fc.run(site, precision=0.1, max_crossings=128, installations=9), site)
    assert spread_words(site) == () and len(asked) < 9 * 2
    assert headline(results, installations_of(results)).startswith("Nothing in this site differs from one installation")


@pytest.mark.parametrize("count", [1, 0, -3, 1025])
def test_a_number_that_says_nothing_is_refused(count):
    with pytest.raises(UsageError, match="installations .* a whole number from 2 to 1024"):
        fc.run(make_site(), installations=count)


def test_mounting_errors_are_not_called_better():
    """Catches: "better on 12 m" for the same yard mounted with errors. The mean over installations is another number, no gain."""
    exact = make_site(segment_length_m=4.0, sensor=QUIET)
    built = make_site(segment_length_m=4.0, sensor=QUIET, tolerance={"bearing_deg": 2.0, "depression_deg": 2.0})
    assert differ_in_spread_alone(exact, built) and not differ_in_spread_alone(exact, exact)
    other = make_site(segment_length_m=4.0, sensor=QUIET | {"netd_mk": 400.0}, tolerance={"bearing_deg": 2.0})
    assert not differ_in_spread_alone(exact, other)
    said = plain_sentence(Results.of(fc.compare(exact, built, max_crossings=256)), 0)
    assert "better on" not in said and "the mean Pd over such installations" in said and "It is a mean" in said
    said = plain_sentence(Results.of(fc.compare(exact, other, max_crossings=256)), 0)
    assert "It is a mean" in said
