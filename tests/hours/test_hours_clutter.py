"""Clutter of hours: replaced by `[weather_file] clutter_k`, multiplied by `[decision] clutter_factor`, in every hour."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fencecast.estimate.simulate import advance, new_tally
from fencecast.kernels.crossing import SUM_PD
from fencecast.kernels.draw import quantile
from fencecast.kernels.pack import pack_cells, pack_plan
from fencecast.kernels.pack_weather import pack_weather
from fencecast.kernels.types import CLUTTER_K
from fencecast.meteorology.year import HourClass
from fencecast.site import parse_site
from hours.hourly import small_year
from kernels.kernel_sites import site_text

WHERE = "latitude = 54.0\nlongitude = 4.0\n"
STATES = small_year(hours=120).states
SOME = STATES.take(np.arange(0, len(STATES), max(len(STATES) // 8, 1)))


def site_of(record: str = "", decision: dict | None = None):
    """A site with an hourly record (never read here: the hours are handed in) and no classes of its own."""
    text = site_text(segment_length_m=8.0, weather=(), decision=decision, lens={"focal_length_mm": 6.0, "f_number": 1.0})
    text = text.replace("segment_length_m = 8.0\n", f"segment_length_m = 8.0\n{WHERE}")
    return parse_site(text + f'\n[weather_file]\npath = "made.epw"\nkind = "epw"\n{record}')


def pd_of(site, states) -> np.ndarray:
    """Pd of every segment over these hours."""
    classes = (HourClass("all hours", 4000.0, states),)
    cells, tally = pack_cells(site, 7, classes), new_tally(5, 1)
    advance(pack_plan(site, classes), cells, tally, np.arange(5), 16, 1)
    return tally.mean(SUM_PD)


def pd_by_hour(site, states) -> np.ndarray:
    """Pd of every segment in each of these hours by itself, so that their order cannot matter: (hours, segments)."""
    classes = [HourClass(f"hour {row}", 100.0, states.take(np.array([row]))) for row in range(len(states))]
    cells = pack_cells(site, 7, classes)
    tally = new_tally(len(cells.weather), 1)
    advance(pack_plan(site, classes), cells, tally, np.arange(len(cells.weather)), 4, 1)
    return tally.mean(SUM_PD).reshape(len(states), -1)


def clutters(site) -> np.ndarray:
    """Quantiles of clutter by hour, (hours, 3) [K], in the order of the packed states."""
    packed = pack_weather(site, (HourClass("all hours", 4000.0, STATES),))
    return np.array([[quantile(row[CLUTTER_K], packed.choice, u) for u in (0.1, 0.5, 0.9)] for row in packed.quantity])


def test_a_number_replaces_the_clutter_of_every_hour():
    """Catches: a key that is read and not used, or only in some hours. Hours that have that clutter by themselves."""
    site, plain = site_of("clutter_k = 0.8\n"), site_of()
    assert np.all(clutters(site) == 0.8)
    assert np.array_equal(np.sort(clutters(plain)[:, 1]), np.sort(STATES.clutter_k))
    typed = pd_by_hour(plain, replace(SOME, clutter_k=np.full(len(SOME), 0.8)))
    assert np.array_equal(pd_by_hour(site, SOME), typed)
    assert np.max(pd_by_hour(plain, SOME) - typed) > 0.05


def test_a_spread_is_drawn_in_every_hour():
    """Catches: a median where a distribution is given, another one in later hours. Lognormal: x0.52 and x1.9 at 0.5."""
    found = clutters(site_of("clutter_k = { median = 0.4, sigma_ln = 0.5 }\n"))
    assert found == pytest.approx(np.tile(0.4 * np.exp(0.5 * np.array([-1.2815516, 0.0, 1.2815516])), (len(STATES), 1)))


@pytest.mark.parametrize("record", ["", "clutter_k = 0.3\n", 'clutter_k = { dist = "uniform", low = 0.1, high = 0.5 }\n'])
def test_the_factor_multiplies_whatever_clutter_hours_have(record):
    """Catches: a factor that reaches classes of the site file only, one that is squared where hours share a distribution."""
    plain, scaled = site_of(record), site_of(record, {"clutter_factor": 3.0})
    assert clutters(scaled) == pytest.approx(3.0 * clutters(plain), rel=1e-12)
    assert np.max(pd_of(plain, STATES) - pd_of(scaled, STATES)) > 0.05


def test_the_factor_on_hours_is_that_on_their_clutter():
    """Catches: a factor on part of what clutter does. The same hours with three times the clutter, on the same crossings."""
    by_hand = pd_by_hour(site_of(), replace(SOME, clutter_k=3.0 * SOME.clutter_k))
    assert pd_by_hour(site_of(decision={"clutter_factor": 3.0}), SOME) == pytest.approx(by_hand, abs=1e-9)
    assert np.ptp(by_hand) > 0.1


def test_a_spread_of_the_factor_is_drawn_on_hours_too():
    """Catches: a spread that hours never see. Pd of the spread is the mean of Pd at the factor's two values."""
    spread = {"clutter_factor": {"dist": "choice", "values": [1.0, 8.0], "weights": [1, 1]}}
    ends = [pd_of(site_of(decision={"clutter_factor": value}), STATES) for value in (1.0, 8.0)]
    both = pd_of(site_of(decision=spread), STATES)
    assert np.max(ends[0] - ends[1]) > 0.2 and both == pytest.approx(np.mean(ends, axis=0), abs=0.06)
