"""Sky, sun and cloud by rule against other formulas, and against the typical year that pvlib ships."""

from __future__ import annotations

import numpy as np
import pytest

from fencecast.meteorology import sky as rules
from fencecast.physics import sky as formulas
from meteorology.records.hourly_records import saturation_hpa, typical_year


@pytest.mark.parametrize("air_c", [-10.0, 0.0, 10.0, 20.0, 30.0])
@pytest.mark.parametrize("vapour_hpa", [6.0, 8.0, 12.0, 20.0, 30.0])
def test_clear_sky_against_brutsaert(air_c, vapour_hpa):
    """Catches: vapour in the wrong unit, a wrong coefficient. Source: Brutsaert (1975), 1.24 (e/T)^(1/7); the two are known to
    part in dry cold air (below 6 hPa), where Brutsaert's goes to nothing; 0.035 above it."""
    theirs = 1.24 * (vapour_hpa / (air_c + 273.15)) ** (1.0 / 7.0)
    assert formulas.clear_sky_emissivity(vapour_hpa, air_c + 273.15) == pytest.approx(theirs, abs=0.035)


def test_clear_sky_without_vapour():
    """Catches: a sky that is black, or nothing, in perfectly dry air. Prata (1996): 1 - exp(-sqrt(1.2))."""
    assert formulas.clear_sky_emissivity(0.0, 260.0) == pytest.approx(1.0 - np.exp(-np.sqrt(1.2)))


@pytest.mark.parametrize(("air_c", "humidity"), [(-5.0, 0.8), (5.0, 0.9), (15.0, 0.7), (25.0, 0.5)])
@pytest.mark.parametrize("tenths", [0, 4, 8, 10])
def test_sky_with_cloud_against_clark_and_allen(air_c, humidity, tenths):
    """Catches: cloud that cools, or that counts twice. Source: Clark and Allen (1978) as building simulation uses it, from
    memory: (0.787 + 0.764 ln(T_dew/273)) (1 + 0.0224 N - 0.0035 N^2 + 0.00028 N^3), N in tenths. Both are fits to different
    stations: 0.08 (judgement)."""
    vapour = humidity * saturation_hpa(air_c)
    logarithm = np.log(vapour / 6.112)
    dew_k = 273.15 + 243.5 * logarithm / (17.67 - logarithm)
    closed = 1.0 + 0.0224 * tenths - 0.0035 * tenths**2 + 0.00028 * tenths**3
    theirs = (0.787 + 0.764 * np.log(dew_k / 273.0)) * closed
    clear = formulas.clear_sky_emissivity(vapour, air_c + 273.15)
    assert formulas.sky_emissivity(clear, tenths / 10.0) == pytest.approx(min(theirs, 1.0), abs=0.08)


def test_full_cloud_leaves_a_sixth_of_the_gap():
    """Catches: cloud that closes the sky too little. Unsworth and Monteith (1975): full cover leaves 16 % of what the clear sky
    lacks of a black body, half cover 58 %."""
    assert formulas.sky_emissivity(0.8, 1.0) == pytest.approx(0.968)
    assert formulas.sky_emissivity(0.8, 0.5) == pytest.approx(0.884)


def test_low_sky_meets_the_judgement_for_classes():
    """Catches: hourly weather that sees another low sky than weather classes do. 10 K clear and 2 K overcast in ordinary air (the
    rule's own 10 C, 70 %), within 3 K of it from -5 C to 20 C at 60-90 %; falling with cloud and with vapour all along."""
    ordinary = formulas.clear_sky_emissivity(0.7 * saturation_hpa(10.0), 283.15)
    assert formulas.low_sky_below_air_k(ordinary, 0.0) == pytest.approx(10.0, abs=0.05)
    for air_c in (-5.0, 0.0, 10.0, 20.0):
        below = []
        for humidity in (0.6, 0.75, 0.9):
            clear = formulas.clear_sky_emissivity(humidity * saturation_hpa(air_c), air_c + 273.15)
            by_cloud = [formulas.low_sky_below_air_k(clear, cloud) for cloud in np.linspace(0.0, 1.0, 11)]
            assert by_cloud[-1] == pytest.approx(2.0)
            assert np.all(np.diff(by_cloud) < 0.0)
            assert abs(by_cloud[0] - 10.0) < 3.0
            below.append(by_cloud[0])
        assert np.all(np.diff(below) < 0.0)


def test_sky_history_is_the_formulas_hour_by_hour():
    """Catches: scenarios and hours swapped in the loop. Two hours and three clouds against the scalar formulas."""
    air_k, humidity = np.array([275.0, 290.0]), np.array([0.9, 0.4])
    cloud = np.array([[0.0, 0.2], [0.5, 0.7], [1.0, 0.9]])
    longwave, below, vapour = formulas.sky_history(air_k, humidity, cloud)
    assert vapour == pytest.approx(humidity * saturation_hpa(air_k - 273.15), rel=0.01)
    for k in range(3):
        for hour in range(2):
            clear = formulas.clear_sky_emissivity(vapour[hour], air_k[hour])
            assert below[k, hour] == formulas.low_sky_below_air_k(clear, cloud[k, hour])
            expected = formulas.sky_emissivity(clear, cloud[k, hour]) * 5.670374e-8 * air_k[hour] ** 4
            assert longwave[k, hour] == pytest.approx(expected, rel=1e-6)


def test_clear_sky_radiation_against_the_typical_year():
    """Catches: sun and record an hour apart, degrees for radians, zenith for elevation. Where the year that pvlib ships says no
    cloud, its global radiation is the formula's within 10 % in sum, and hour by hour it follows (0.98)."""
    records, sun = typical_year()
    clear = (records.values["cloud"] <= 0.05) & (sun > 5.0)
    theirs, ours = records.values["ghi_w_m2"][clear], rules.clear_sky_w_m2(sun)[clear]
    assert clear.sum() > 500
    assert ours.sum() == pytest.approx(theirs.sum(), rel=0.10)
    assert np.corrcoef(ours, theirs)[0, 1] > 0.98
    assert np.all(rules.clear_sky_w_m2(np.array([-30.0, -0.5])) == 0.0)


def test_dimming_turned_round():
    """Catches: a power upside down. Kasten and Czeplak (1980): full cloud leaves a quarter; half cover takes 7 %."""
    assert rules.dimmed(np.array([0.0, 0.5, 1.0])) == pytest.approx([1.0, 0.929, 0.25], abs=1e-3)


def test_cloud_from_radiation_against_the_typical_year():
    """Catches: cloud from the wrong side of the clear sky. The year that pvlib ships says both: inferred cloud follows recorded
    total cover (correlation above 0.7: thin cloud dims little), clear hours come out below 0.2 and closed ones above 0.75."""
    records, sun = typical_year()
    cloud, high = records.values["cloud"], sun > 15.0
    inferred = rules.cloud_from_radiation(records.values["ghi_w_m2"], sun)
    assert np.corrcoef(inferred[high], cloud[high])[0, 1] > 0.7
    assert inferred[high & (cloud <= 0.05)].mean() < 0.2
    assert inferred[high & (cloud >= 0.95)].mean() > 0.75
    assert np.all(np.isnan(inferred[sun < 10.0]))


def test_scenarios_are_the_thirds_of_a_real_year():
    """Catches: scenarios that no sky has. Mean total cover in the lowest, middle and highest third of the hours of the year
    that pvlib ships: 0.05, 0.63, 1.00; within 0.05."""
    cover = np.sort(typical_year()[0].values["cloud"])
    thirds = [part.mean() for part in np.array_split(cover, 3)]
    assert np.array(rules.CLOUD_SCENARIOS) == pytest.approx(thirds, abs=0.05)


def test_cloud_in_the_order_of_what_is_known():
    """Catches: a recorded cloud overruled, night radiation taken for cloud, long gaps bridged, rain under a clear sky."""
    sun = np.where(np.arange(24) % 24 < 12, -20.0, 40.0)
    clear = rules.clear_sky_w_m2(sun)
    nan, no = np.full(24, np.nan), np.zeros(24, dtype=bool)
    recorded = np.full(24, 0.3)
    recorded[5:7] = np.nan  # a short gap
    clouds, known = rules.cloud_histories(recorded, nan, sun, no, no)
    assert known.all()
    assert clouds == pytest.approx(np.full((3, 24), 0.3))

    clouds, known = rules.cloud_histories(nan, clear * 0.25, sun, no, no)
    assert known[12:].all()
    assert clouds[:, 12:] == pytest.approx(1.0)
    assert not known[:12].any()
    assert clouds[:, 3] == pytest.approx(rules.CLOUD_SCENARIOS)

    falls, fog = no.copy(), no.copy()
    falls[3] = fog[8] = True
    clouds, _ = rules.cloud_histories(nan, nan, sun, falls, fog)
    assert clouds[:, [3, 8]].min() == 1.0
    assert clouds[:, 5] == pytest.approx(rules.CLOUD_SCENARIOS)


def test_recorded_radiation_stands():
    """Catches: a recorded radiation replaced by the modelled one, negative readings by night."""
    sun = np.array([-10.0, 30.0, 30.0])
    used = rules.solar_w_m2(np.array([-3.0, 123.0, np.nan]), sun, np.array([[0.0] * 3, [1.0] * 3]))
    assert used[:, :2] == pytest.approx(np.array([[0.0, 123.0]] * 2))
    assert used[1, 2] == pytest.approx(0.25 * used[0, 2])
    assert used[0, 2] > 400.0
