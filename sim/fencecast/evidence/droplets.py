"""Fog, rain, snow and water on the window against Mie theory, drop-size integrals and published laws."""

from __future__ import annotations

import math

import numpy as np

from fencecast.evidence import mie
from fencecast.evidence.check import Check, outside, relative, with_version
from fencecast.physics import droplets

# Shettle and Fenn (1979): effective radius [um] and alpha of the named fogs.
_NAMED = {
    "HEAVY_ADVECTION_RATIO": (20.0, 3.0),
    "MODERATE_ADVECTION_RATIO": (16.0, 3.0),
    "HEAVY_RADIATION_RATIO": (6.0, 6.0),
    "MODERATE_RADIATION_RATIO": (3.0, 6.0),
}
_RADII_UM = (0.5, 0.7, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 9.0, 10.0, 12.0, 14.0, 16.0, 18.0, 20.0)
_RAIN_MM_H = (0.2, 0.5, 2.0, 10.0, 25.0, 50.0)


def fog_ratio() -> Check:
    """Catches wrong drop sizes, band, weight or visible wavelength, a table out of date or wrongly read between its rows."""
    ours = [droplets.fog_extinction_ratio(r) for r in _RADII_UM]
    return Check(
        "fog_ratio",
        "Fog: thermal over visible extinction, drops of 0.5-20 µm",
        relative(ours, [mie.fog_ratio(r, 6.0) for r in _RADII_UM]),
        "relative",
        0.003,
        "how finely the drops' ripple and the table's rows are sampled",
        f"Mie theory ({with_version('miepython')}), water of Hale & Querry 1973",
        len(ours),
        note=f"6 µm: {droplets.fog_extinction_ratio(6.0):.3f}",
    )


def fog_named() -> Check:
    """Catches constants that do not belong to the sizes of their fogs."""
    ours = [getattr(droplets, name) for name in _NAMED]
    return Check(
        "fog_named",
        "The same for four named fogs",
        relative(ours, [mie.fog_ratio(*sizes) for sizes in _NAMED.values()]),
        "relative",
        0.003,
        "three printed digits, and the ripple",
        f"sizes of Shettle & Fenn 1979, Mie theory ({with_version('miepython')})",
        len(ours),
        note="heavy and moderate advection, radiation: " + ", ".join(f"{value:.3f}" for value in ours),
    )


def rain_drop_sizes() -> Check:
    """Catches a unit of the size distribution, an efficiency other than 2."""
    quad = outside("scipy.integrate").quad

    def extinction(rate):
        slope = 4.1 * rate**-0.21
        return 2.0 * quad(lambda d: 8000.0 * math.exp(-slope * d) * math.pi / 4.0 * (1e-3 * d) ** 2, 0.0, 40.0 / slope)[0]

    return Check(
        "rain_drop_sizes",
        "Rain: extinction, 0.2-50 mm/h",
        relative([droplets.rain_extinction_per_m(r) for r in _RAIN_MM_H], [extinction(r) for r in _RAIN_MM_H]),
        "relative",
        0.002,
        "three printed digits of the factor",
        f"integral over the drop sizes of Marshall & Palmer 1948 ({with_version('scipy')})",
        len(_RAIN_MM_H),
        note=f"10 mm/h over 60 m keeps {math.exp(-60.0 * droplets.rain_extinction_per_m(10.0)):.3f}",
    )


def rain_itu() -> Check:
    """Catches decibels for nepers."""
    theirs = [1.58 * r**0.63 / (1e4 / math.log(10.0)) for r in _RAIN_MM_H]
    return Check(
        "rain_itu",
        "Rain: extinction, 0.2-50 mm/h",
        relative([droplets.rain_extinction_per_m(r) for r in _RAIN_MM_H], theirs),
        "relative",
        0.005,
        "three printed digits of each law",
        "ITU-R P.1814, 1.58 R^0.63 dB/km",
        len(_RAIN_MM_H),
    )


def rain_thermal() -> Check:
    """Catches one law for visible and thermal light where drops are not large against the wavelength."""
    diameters = np.arange(0.05, 7.0, 0.1)  # mm
    wavelengths = (8.0, 10.0, 12.0, 14.0)
    index = mie.water_index(np.array(wavelengths))
    efficiency = np.mean([mie.efficiency(500.0 * diameters, *case) for case in zip(wavelengths, *index)], axis=0)

    def extinction(rate):
        drops_per_m3 = 8000.0 * np.exp(-4.1 * rate**-0.21 * diameters) * 0.1
        return float(np.sum(drops_per_m3 * math.pi / 4.0 * (1e-3 * diameters) ** 2 * efficiency))

    return Check(
        "rain_thermal",
        "Rain: extinction in 8-14 µm, 0.2-50 mm/h",
        relative([droplets.rain_extinction_per_m(r) for r in _RAIN_MM_H], [extinction(r) for r in _RAIN_MM_H]),
        "relative",
        0.06,
        "efficiency 2 for all drops; Mie's is 1 to 6 % larger for drops of 2 to 0.2 mm",
        f"Mie theory ({with_version('miepython')}) over the drops of Marshall & Palmer 1948",
        len(_RAIN_MM_H),
    )


def snow_rate() -> Check:
    """Catches slips of the cgs units, dry and wet exchanged."""
    rates = (0.3, 1.0, 2.5)
    laws = {False: (0.017, 100.0), True: (0.072, 200.0)}
    cases = [(rate, wet) for rate in rates for wet in laws]
    theirs = [1.3 * laws[wet][0] * laws[wet][1] / (rate / 36000.0) / 100.0 for rate, wet in cases]
    return Check(
        "snow_rate",
        "Snow: visibility from rate, dry and wet, 0.3-2.5 mm/h",
        relative([droplets.snow_visibility_m(*case) for case in cases], theirs),
        "relative",
        1e-6,
        "the same law: rounding",
        "Rasmussen et al. 1999, V = 1.3 C3 Vt / S in cgs",
        len(cases),
        note=f"dry, 1 mm/h: {droplets.snow_visibility_m(1.0, False):.0f} m (printed 796)",
    )


def window_film() -> Check:
    """Catches absorption without the 4 pi, a stale node table, radiance for its slope as weight."""
    films = (0.5, 2.0, 5.0, 20.0, 60.0)
    return Check(
        "window_film",
        "Water film on the window, 0.5-60 µm",
        relative([droplets.window_film_transmission(f) for f in films], [mie.film_transmission(f) for f in films]),
        "relative",
        0.002,
        "25 nodes for the band mean",
        f"Beer's law by quadrature ({with_version('scipy')}), water of Hale & Querry 1973",
        len(films),
        note=f"5 µm passes {droplets.window_film_transmission(5.0):.2f}, 20 µm {droplets.window_film_transmission(20.0):.2f}",
    )


CHECKS = (fog_ratio, fog_named, rain_drop_sizes, rain_itu, rain_thermal, snow_rate, window_film)
