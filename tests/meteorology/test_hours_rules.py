"""The written rules of an hour: rain or snow, fog and its kind, wet clothing, window, clutter, gaps."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq

from fencecast.meteorology import fogkind, history, precipitation, wetness
from fencecast.meteorology.clutter import clutter_k
from fencecast.meteorology.hours import fill_records, span_years
from meteorology.records.hourly_records import records_of, saturation_hpa


def test_wet_bulb_against_a_psychrometer():
    """Catches: humidity as a fraction in a formula for per cent. Source: the psychrometer's equation of WMO No. 8 over water,
    e = e_s(T_wet) - 0.000662 p (T - T_wet), solved; 1 K is the error that Stull (2011) states for his fit."""
    for air_c in (-5.0, -1.0, 1.0, 4.0, 25.0):
        for humidity in (0.3, 0.6, 0.9, 0.97):
            vapour = humidity * saturation_hpa(air_c)
            theirs = brentq(lambda wet: saturation_hpa(wet) - 0.67 * (air_c - wet) - vapour, -20.0, 30.0)  # noqa: B023
            assert float(precipitation.wet_bulb_c(np.array(air_c), np.array(humidity))) == pytest.approx(theirs, abs=1.0)


def test_snow_share_by_wet_bulb():
    """Catches: rain in hard frost, snow in summer, humidity without effect. Half at a wet bulb of 1 C."""
    share = precipitation.snow_share(np.array([-5.0, 1.1, 1.1, 6.0]), np.array([0.8, 0.99, 0.6, 0.9]))
    assert share[0] == 1.0
    assert share[1] == pytest.approx(0.5, abs=0.15)
    assert share[2] > share[1]
    assert share[3] == 0.0


def test_rain_and_snow_as_told():
    """Catches: what a record says overruled, water lost in the split, missing taken for dry."""
    nan = np.nan
    rain = np.array([1.0, nan, nan, nan, 0.0, nan])
    snow = np.array([nan, 2.0, nan, nan, 0.0, nan])
    either = np.array([nan, nan, 3.0, 3.0, 0.0, nan])
    air = np.array([-3.0, 3.0, -8.0, 1.3, 5.0, 5.0])
    fallen, flakes = precipitation.rain_and_snow_mm_h(rain, snow, either, air, np.full(6, 0.9))
    assert fallen[:3] == pytest.approx([1.0, 0.0, 0.0])
    assert flakes[:3] == pytest.approx([0.0, 2.0, 3.0])
    assert fallen[3] + flakes[3] == pytest.approx(3.0)
    assert 0.0 < fallen[3] < 3.0
    assert (fallen[4], flakes[4]) == (0.0, 0.0)
    assert np.isnan([fallen[5], flakes[5]]).all()
    rest, told = precipitation.rain_and_snow_mm_h(np.array([1.0]), np.array([nan]), np.array([1.5]), air[:1], np.array([0.9]))
    assert (rest[0], told[0]) == (1.0, 0.5)


def test_fog_is_what_rain_and_snow_do_not_explain():
    """Catches: fog at 5 km, fog counted in every downpour, fog hidden by drizzle. 1 km is the WMO's limit of fog, 5 % of
    contrast."""
    visibility = np.array([999.0, 1001.0, 900.0, 150.0, 600.0, 60.0])
    rain = np.array([0.0, 0.0, 50.0, 0.5, 0.0, 0.0])
    snow = np.array([0.0, 0.0, 0.0, 0.0, 2.0, 2.0])
    assert fogkind.is_fog(visibility, rain, snow, np.full(6, -2.0), 0).tolist() == [True, False, False, True, False, True]
    # 60 mm/h takes 4.8 1/km by Marshall and Palmer; twice that leaves 312 m.
    cloudburst = fogkind.is_fog(np.array([330.0, 290.0]), np.full(2, 60.0), np.zeros(2), np.full(2, 12.0), 0)
    assert cloudburst.tolist() == [False, True]
    # A visual range (2 %) of 1,200 m is an optical range of 919 m.
    assert fogkind.is_fog(np.array([1200.0]), np.zeros(1), np.zeros(1), np.zeros(1), 1)[0]


def night(hours=24, **changed):
    """A calm, cooling, dry night (wind, air, rain, sun), with some of it changed."""
    given = {
        "wind_m_s": np.full(hours, 1.0),
        "air_c": np.linspace(8.0, 2.0, hours),
        "rain_mm_h": np.zeros(hours),
        "sun_elevation_deg": np.full(hours, -30.0),
    }
    return fogkind.radiation_share(**(given | changed))[-1]


def test_kind_of_fog_by_rule():
    """Catches: a rule turned round. A calm, cooling, dry night makes radiation fog for nearly sure; wind, warming, rain and day
    each speak against it; nothing makes it sure."""
    assert night() == 0.9
    assert night(wind_m_s=np.full(24, 2.5)) == pytest.approx(0.5)
    assert night(wind_m_s=np.full(24, 5.0)) == pytest.approx(0.1)
    assert night(air_c=np.linspace(2.0, 10.0, 24)) == pytest.approx(0.4)
    rained = np.zeros(24)
    rained[-4] = 0.4
    assert night(rain_mm_h=rained) == pytest.approx(0.5)
    assert night(sun_elevation_deg=np.full(24, 30.0)) == pytest.approx(0.3)
    risen = np.full(24, -10.0)
    risen[-3:] = 8.0
    assert night(sun_elevation_deg=risen) == 0.9


def test_clothing_fills_and_dries():
    """Catches: wetness that never ends, that needs days, or that rain of yesterday makes. 4 mm/h soak within the hour, drizzle of
    0.2 mm/h damps over hours, and three hours after the rain a newcomer is dry."""
    rain = np.zeros(12)
    rain[2:4] = 4.0
    no, mild, damp = np.zeros(12), np.full(12, 8.0), np.full(12, 0.05)
    soaked = wetness.clothing_wetness(wetness.caught_mm_h(rain, no, mild, no), damp, no)
    assert soaked[1] == 0.0
    assert soaked[2:4] == pytest.approx([1.0, 1.0])
    assert 0.5 < soaked[5] < 1.0
    assert soaked[7:].max() == 0.0
    drizzle = wetness.clothing_wetness(wetness.caught_mm_h(np.full(12, 0.2), no, mild, no), damp, no)
    assert 0.1 < drizzle[-1] < 0.5
    legs = wetness.clothing_wetness(np.zeros(3), damp[:3], np.array([[True] * 3, [False] * 3]))
    assert legs == pytest.approx(np.array([[0.1] * 3, [0.0] * 3]))


def test_wet_snow_wets_and_dry_snow_does_not():
    """Catches: dry snow that soaks as rain does."""
    caught = wetness.caught_mm_h(np.zeros(3), np.full(3, 2.0), np.array([-10.0, -1.0, 1.0]), np.zeros(3))
    assert caught == pytest.approx([0.1, 0.55, 1.0])


def test_drying_is_penmans():
    """Catches: a day's millimetres taken for an hour's. Penman (1948), from memory: 0.26 (1 + 0.54 u) mm a day and hPa; 20 C,
    50 %, 2 m/s: 11.7 hPa of deficit give 6.3 mm a day, beside 0.03 mm/h of the body's heat."""
    assert wetness.drying_mm_h(np.array(20.0), np.array(0.5), np.array(2.0)) == pytest.approx(6.3 / 24.0 + 0.03, abs=0.005)
    assert wetness.drying_mm_h(np.array(5.0), np.array(1.0), np.array(9.0)) == pytest.approx(0.03)


def test_window_by_rain_fog_and_dew():
    """Catches: a window that stays wet for ever or never gets wet, dew in wind, drops above their limit."""
    rain = np.array([0.0, 1.0, 0.0, 0.0, 100.0, 0.0])
    fog = np.array([False, False, False, True, False, False])
    drops = wetness.window_drops(rain, np.zeros(6), fog)
    assert drops == pytest.approx([0.0, 0.08, 0.04, 0.05, 0.30, 0.15])
    # By hand at 10 C under a clear sky 10 K below air: 4 sigma T^3 = 5.15 W/m2K, 0.45 x 5.15 x 10 / (8 + 0.9 x 5.15) = 1.84 K;
    # the dew point of 10 C is 1.84 K below at 88.4 %. Catches a sign, and dew that asks the ground.
    below = wetness.window_below_air_k(np.full(3, 10.0), np.full((1, 3), 10.0))
    assert below == pytest.approx(1.835, abs=0.01)
    dew = wetness.dew_falls(np.full(3, 10.0), np.array([0.90, 0.90, 0.87]), np.array([0.5, 4.0, 0.5]), below)
    assert dew.tolist() == [[True, False, False]]
    passed = wetness.window_passes(drops[:3], dew)
    assert passed[0, 1:] == pytest.approx([0.92, 0.96])
    # 2 um of water absorb exp(-4 pi k x / lambda): with k 0.05 to 0.37 at 10 to 14 um, 0.51 to 0.88 pass.
    assert 0.6 < passed[0, 0] < 0.88


def test_legs_are_wet_on_grass_and_snow_only():
    """Catches: wet trousers from a wet car park."""
    watered, cover = np.array([0.5, 0.0, 0.05]), np.array([0.0, 0.3, 0.05])
    assert wetness.wet_underfoot(watered, cover, "grass").tolist() == [True, True, False]
    assert wetness.wet_underfoot(watered, cover, "asphalt").tolist() == [False, True, False]


def test_clutter_by_rule():
    """Catches: clutter that sun lowers. 0.1 K on a calm night, 1 K and more in wind or sun, continuous."""
    assert clutter_k(np.array(0.0), np.array(0.0), np.array(0.0)) == pytest.approx(0.1)
    assert clutter_k(np.array(11.0), np.array(0.0), np.array(0.0)) == pytest.approx(1.0)
    assert clutter_k(np.array(1.0), np.array(800.0), np.array(0.0)) == pytest.approx(1.0)
    wind = clutter_k(np.linspace(0.0, 20.0, 201), np.array(300.0), np.array(1.0))
    assert np.all(np.diff(wind) >= 0.0)
    assert np.diff(wind).max() < 0.02


def test_gaps():
    """Catches: a gap of four hours bridged or one of three not, a value from the future, an empty column that stops the run."""
    values = np.array([1.0, np.nan, np.nan, np.nan, 5.0, np.nan, np.nan, np.nan, np.nan, 9.0])
    assert history.long_gaps(values).tolist() == [False] * 5 + [True] * 4 + [False]
    assert history.filled(values, 0.0)[:5] == pytest.approx([1, 2, 3, 4, 5])
    assert history.filled(np.full(3, np.nan), 7.0).tolist() == [7.0, 7.0, 7.0]
    assert history.hours_before(np.array([1, 2, 3, 4]), 2).tolist() == [1, 1, 1, 2]


PLAIN = {
    "air_temperature_c": 10.0,
    "relative_humidity": 0.8,
    "wind_m_s": 2.0,
    "visibility_m": 9000.0,
    "precipitation_mm_h": 0.0,
}


@pytest.mark.parametrize("field", list(PLAIN))
def test_an_hour_is_unknown_where_something_that_matters_is(field):
    """Catches: hours made up of nothing, or thrown away for a gap of two hours. Gaps of 3 hours are bridged, of 6 not."""
    values = np.full(48, PLAIN[field])
    values[10:13] = values[20:26] = np.nan
    measured = fill_records(records_of("2013-01-01", PLAIN | {field: values}, 48))
    assert measured.known.sum() == 42
    assert not measured.known[20:26].any()


def test_a_record_without_precipitation_counts_as_dry():
    """Catches: a file without a gauge that leaves no hour known."""
    plain = {name: value for name, value in PLAIN.items() if name != "precipitation_mm_h"}
    measured = fill_records(records_of("2013-01-01", plain | {"cloud": np.nan, "pressure_hpa": np.nan}, 24, elevation_m=1500.0))
    assert measured.known.all()
    assert measured.rain_mm_h.max() == 0.0
    assert measured.pressure_hpa == pytest.approx(845.6, abs=0.5)  # ICAO standard atmosphere at 1,500 m


def test_span_of_a_record():
    """Catches: leap years and typical years that come out as 0.999 or 1.002 years."""
    for start, hours, years in (("2013-01-01", 8760, 1.0), ("2012-01-01", 8784, 1.0), ("2011-07-01", 8784 + 8760, 2.0)):
        assert span_years(records_of(start, {}, hours).time) == years
    assert span_years(records_of("2013-01-01", {}, 4383).time) == pytest.approx(0.5)
