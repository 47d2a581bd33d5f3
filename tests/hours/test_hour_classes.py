"""Classes made of real hours: one hour is the class that its numbers describe, many hours are their mixture."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from fencecast import parse_site
from fencecast.estimate.simulate import advance, new_tally, simulate
from fencecast.kernels import pack_weather
from fencecast.kernels.crossing import SUM_PD
from fencecast.kernels.pack import pack_cells, pack_plan
from fencecast.meteorology.classes import FOG_KINDS
from fencecast.meteorology.year import STATE_FIELDS, HourClass, HourStates
from kernels.kernel_sites import make_site
from meteorology.invented_year import invented_year

# Columns in the order of STATE_FIELDS: a clear hour, a thick radiation fog, a wet hour, a snowfall.
HOURS = {
    "clear": ((4.0, 0.8, 1.5, 20_000.0, 0.0, 0.0, -2.0, 0.1, 0.0, 10.0, 1.0), "none"),
    "fog": ((3.0, 0.99, 0.5, 60.0, 0.0, 0.0, 0.5, 0.1, 0.3, 2.0, 0.95), "radiation"),
    "rain": ((7.0, 0.95, 4.0, 4_000.0, 6.0, 0.0, 0.3, 0.3, 0.9, 2.0, 0.8), "none"),
    "snow": ((-2.0, 0.9, 2.0, 500.0, 0.0, 1.0, -0.5, 0.1, 0.2, 2.0, 1.0), "none"),
}
DESCRIBED = {
    "clear": 'sky = "clear"',
    "fog": 'sky = "overcast"\nfog = "radiation"\nfront_window = { state = "drops", share = 0.05 }',
    "rain": 'sky = "overcast"\nfront_window = { state = "drops", share = 0.2 }',
    "snow": 'sky = "overcast"',
}


def states(names, weights=None) -> HourStates:
    numbers = np.array([HOURS[name][0] for name in names], dtype=float)
    return HourStates(
        hour=np.arange(len(names)),
        weight=np.ones(len(names)) if weights is None else np.asarray(weights, dtype=float),
        fog=np.array([FOG_KINDS[HOURS[name][1]] for name in names]),
        **{field: numbers[:, k] for k, field in enumerate(STATE_FIELDS)},
    )


def tables(name: str) -> str:
    numbers = dict(zip(STATE_FIELDS, HOURS[name][0]))
    keys = "\n".join(f"{key} = {value}" for key, value in numbers.items() if key not in ("low_sky_below_air_k", "window"))
    return f'[[weather]]\nname = "{name}"\nhours_per_year = 10.0\n{keys}\n{DESCRIBED[name]}\n'


@pytest.fixture(scope="module")
def site():
    """The one-camera example with the weather of this test."""
    text = (Path(__file__).parents[2] / "configs" / "one-camera.toml").read_text(encoding="utf-8")
    return parse_site(text[: text.index("[[weather]]")] + "\n".join(tables(name) for name in HOURS))


def run(site, classes, crossings=64):
    plan, cells = pack_plan(site, classes), pack_cells(site, 3, classes)
    active = np.ones(len(cells.weather), dtype=bool)
    return simulate(plan, cells, active, 0.5, 0.95, 8 * crossings, 1)


def test_one_hour_is_the_class_that_it_describes(site):
    """Catches a number of the hour that is packed in another's place, a shift, a fog without its drops. Two ways of saying the
    same weather give the same bits."""
    described = run(site, site.weather).sums
    hourly = run(site, [HourClass(name, 10.0, states([name])) for name in HOURS]).sums
    assert np.array_equal(described, hourly)


def test_many_hours_are_their_mixture(site):
    """Catches weights that are not used, an hour that is never drawn. The class's Pd is the weighted mean of its hours' own, per
    cell within four of both standard errors (24 cells or so: false alarm 1 in 600), on average within three."""
    weight = np.array([3.0, 1.0, 2.0, 2.0])
    alone = run(site, [HourClass(name, 1.0, states([name])) for name in HOURS], 256)
    mixed = run(site, [HourClass("all", 1.0, states(list(HOURS), weight))], 256)
    share = weight / weight.sum()
    expected = share @ alone.mean(SUM_PD).reshape(len(HOURS), -1)
    error = np.sqrt(share**2 @ alone.se().reshape(len(HOURS), -1) ** 2 + mixed.se() ** 2) + 1e-4
    difference = mixed.mean(SUM_PD) - expected
    assert np.abs(difference / error).max() < 4.0
    assert abs(difference.mean()) < 3.0 * np.sqrt((error**2).sum()) / len(error)
    assert np.ptp(alone.mean(SUM_PD).reshape(len(HOURS), -1).mean(axis=1)) > 0.05  # the hours differ, else this shows nothing


def test_order_and_scale_of_the_hours_do_not_matter(site):
    """Catches a class that depends on how its hours were listed: permuted and reweighted states give the same bits."""
    names = list(HOURS)
    weight = np.array([3.0, 1.0, 2.0, 2.0])
    turned = [2, 0, 3, 1]
    one = run(site, [HourClass("all", 1.0, states(names, weight))]).sums
    other = run(site, [HourClass("all", 1.0, states([names[k] for k in turned], 0.5 * weight[turned]))]).sums
    assert np.array_equal(one, other)


def test_the_middle_of_a_class_can_be_written(site):
    """Catches a middle that explain or eye cannot use. The weighted median of three equal hours is the middle one's number."""
    middle = HourClass("all", 4.0, states(["clear", "fog", "rain"])).middle()
    assert (middle.name, middle.hours_per_year, middle.fog, middle.sky) == ("all", 4.0, "none", "overcast")
    assert middle.air_temperature_c.middle() == 4.0
    assert middle.visibility_m.middle() == 4_000.0
    assert middle.front_window.share == pytest.approx(0.05)


def test_hours_stand_by_how_well_people_are_made_out(site, monkeypatch):
    """Catches an order that is not used, or that says nothing. Clear and foggy hours in turn, 320 of each: standard errors in
    the order of `ease` against those in no order, root mean squares over some 17 cells. Measured 0.41 to 0.52 over three such
    orders and 16 to 64 points; 1 without an order."""
    random = np.random.default_rng(0)
    hours = states(["clear", "fog"] * 320)
    visibility = np.where(hours.fog > 0, 25.0, hours.visibility_m) * np.exp(random.normal(0.0, 0.2, 640))
    ground = hours.ground_minus_air_k + random.normal(0.0, 0.2, 640)
    classes = [HourClass("all", 1.0, replace(hours, visibility_m=visibility, ground_minus_air_k=ground))]

    def errors():
        plan, cells = pack_plan(site, classes), pack_cells(site, 3, classes)
        tally = new_tally(len(cells.weather), len(site.camera))
        advance(plan, cells, tally, np.arange(len(cells.weather)), 32, 1)
        return tally.se()

    ordered = errors()
    monkeypatch.setattr(pack_weather, "ease", lambda rows: np.random.default_rng(1).random(len(rows)))
    unordered = errors()
    some = unordered > 1e-3
    assert some.sum() >= 10
    assert np.sqrt((ordered[some] ** 2).mean() / (unordered[some] ** 2).mean()) < 0.75


def test_the_order_of_hours_knows_no_camera():
    """Catches a comparison of two lenses whose crossings meet other hours: packed weather is the same for both, to the bit."""
    year = invented_year(seed=4, hours=240, fog_share=0.3)
    classes = [HourClass("all", 1.0, year.states)]
    wide, long = (
        pack_weather.pack_weather(make_site(lens={"focal_length_mm": mm, "f_number": 1.0}), classes) for mm in (3.0, 6.0)
    )
    assert np.array_equal(wide.quantity, long.quantity) and np.array_equal(wide.cumulative, long.cumulative)
