"""Pd against optical range: the drops of each curve are the ones it names, and more fog or larger drops never help."""

import numpy as np
import pytest
from scipy.stats import lognorm

from fencecast.estimate.dataset import describe
from fencecast.estimate.options import RunOptions
from fencecast.estimate.simulate import advance, new_tally
from fencecast.hours.opticalrange import (
    RANGES_M,
    add_optical_range,
    base_states,
    drop_radii_um,
    fog_grid,
    fog_plan,
)
from fencecast.hours.states import EveryHour, state_cells
from fencecast.kernels.crossing import SUM_PD
from fencecast.kernels.pack import pack_plan
from fencecast.site.quantity import Quantity
from fencecast.site.schema import Weather
from hours.hourly import SITE, run_hours, small_year

YEAR = small_year()


@pytest.fixture(scope="module")
def results():
    results = run_hours(YEAR, count=16)
    add_optical_range(SITE, YEAR, results, pack_plan(SITE, (EveryClass,)), RunOptions(7, 0.5, 64, 1))
    return describe(results)


EveryClass = Weather(
    name=EveryHour.name,
    hours_per_year=1.0,
    air_temperature_c=Quantity.fixed(5.0),
    relative_humidity=Quantity.fixed(0.9),
    ground_minus_air_k=Quantity.fixed(-1.0),
)


def test_drop_radii_are_the_quantiles_of_what_fogs_draw():
    """Against scipy's lognormal distribution. Catches: 10 and 90 % swapped, a spread in the wrong unit."""
    expected = [lognorm.ppf([0.1, 0.5, 0.9], 0.35, scale=median) for median in (5.0, 9.0)]
    assert drop_radii_um() == pytest.approx(np.array(expected), rel=1e-9)


def test_each_point_of_the_grid_is_that_fog():
    """A class of one state with this drop radius, written as a table of a site file, on the same crossings. Catches: the default
    drops drawn instead, radii of the neighbouring curve, optical ranges mixed up."""
    year = small_year(hours=96)
    classes, radii, _ = fog_grid(SITE, year)
    which = [0, 1 * 12 + 3, 2 * 12 + 4, 3 * 12 + 2, 5 * 12 + 11]
    one = [type(c)(c.name, 0.0, c.states.take(np.array([0]))) for c in (classes[k] for k in which)]
    plan = fog_plan(pack_plan(SITE, (EveryClass,)), SITE, one, radii[which])
    tables = []
    for k, c in zip(which, one):
        fields = ("air_temperature_c", "relative_humidity", "wind_m_s", "ground_minus_air_k", "clutter_k", "wetness")
        given = {name: Quantity.fixed(float(getattr(c.states, name)[0])) for name in fields}
        kind = ("radiation", "advection")[k // 36]
        drops = Quantity.fixed(drop_radii_um()[k // 36, k // 12 % 3])
        ranges = Quantity.fixed(float(RANGES_M[k % 12]))
        window = {"state": "drops", "share": 1.0 - float(c.states.window[0])}
        tables.append(
            Weather(
                name=c.name, hours_per_year=0.0, visibility_m=ranges, fog=kind, drop_radius_um=drops, front_window=window, **given
            )
        )
    by_table = pack_plan(SITE, tables)
    sky = np.array([c.states.low_sky_below_air_k[0] for c in one])
    by_table = by_table._replace(weather=by_table.weather._replace(low_sky_below_air_k=sky))
    cells = state_cells(SITE, 7, len(one))
    found = []
    for each in (plan, by_table):
        tally = new_tally(len(cells.weather), len(SITE.camera))
        advance(each, cells, tally, np.arange(len(cells.weather)), 4, 1)
        found.append(tally.mean(SUM_PD))
    assert found[0] == pytest.approx(found[1], abs=1e-9)
    assert found[0].max() - found[0].min() > 0.2


def test_thinner_fog_and_smaller_drops_never_hurt(results):
    """On shared crossings. 0.01: a body colder than the ground may gain a little where fog hides less of a cold head. Catches:
    the axis turned round, curves in another order than their drops (up to 14 um the Mie ratio rises with the radius)."""
    for name in ("pd_fog", "pd_fog_segment"):
        pd = results[name].values
        assert np.diff(pd, axis=2).min() > -0.01
        assert np.diff(pd, axis=1).max() < 0.01
        assert pd[:, :, 0].max() < pd[:, :, -1].min() + 0.01
        assert (results[f"{name}_low"].values <= pd).all() and (pd <= results[f"{name}_high"].values).all()


def test_drops_matter_between_and_at_neither_end(results):
    """Thick fog hides everything and thin fog nothing, whatever its drops. Catches: a band that is not made by the drops."""
    band = results["pd_fog"].values[:, 0] - results["pd_fog"].values[:, -1]
    assert band[:, -1].max() < 0.02 and band.max() > 0.05


def test_what_else_is_like_in_the_years_own_fog():
    """Catches: unarmed or unknown hours in the base, rain kept in the fog, a year without fog failing."""
    states, words = base_states(YEAR, "radiation")
    assert words == "the record's armed hours of radiation fog" and (states.fog == 1).all()
    assert YEAR.counted[states.hour].all()
    assert all((c.states.rain_mm_h == 0.0).all() and (c.states.snow_mm_h == 0.0).all() for c in fog_grid(SITE, YEAR)[0])
    from dataclasses import replace

    dry = replace(YEAR, states=replace(YEAR.states, fog=np.zeros_like(YEAR.states.fog)), sun_elevation_deg=np.full(480, -5.0))
    assert base_states(dry, "advection")[1] == "the record's armed night hours without rain or snow"
    assert base_states(replace(dry, sun_elevation_deg=np.full(480, 5.0)), "advection")[1] == "the record's armed hours"
