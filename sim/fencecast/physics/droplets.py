"""What fog, haze, rain and snow take from the thermal band, and what water on the window takes.

Extinction is in 1/m, natural logarithm, full (scattered light counts as lost: at most 2 % of what fog scatters stays inside a
person's outline). The band is 8-14 um whatever the camera's band is. The power laws of Kruse and Kim are for 0.4-1.55 um and are
not used.

Tests: tests/physics/test_droplets.py.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np

from fencecast.jit import compiled
from fencecast.physics.air import KOSCHMIEDER_OPTICAL_RANGE, koschmieder_constant
from fencecast.units import ZERO_CELSIUS_K

NO_FOG, RADIATION_FOG, ADVECTION_FOG = 0, 1, 2

# Ratios of four fogs of Shettle and Fenn (1979) by the same Mie calculation with their own alpha: for tests and for reading.
HEAVY_ADVECTION_RATIO = 1.111  # alpha 3, effective radius 20 um
MODERATE_ADVECTION_RATIO = 1.106  # alpha 3, 16 um
HEAVY_RADIATION_RATIO = 0.752  # alpha 6, 6 um
MODERATE_RADIATION_RATIO = 0.350  # alpha 6, 3 um

HAZE_RATIO = 0.10  # common practice, no source
SNOW_RATIO = 1.2  # thermal over visible extinction; common practice, no source
RAIN_FACTOR = 3.65e-4
RAIN_POWER = 0.63


def _columns(name):
    """Both columns of a table beside this file, contiguous: numba caches functions with such constants, not with views."""
    table = np.loadtxt(Path(__file__).resolve().with_name(name), delimiter=",", skiprows=1)
    return np.ascontiguousarray(table[:, 0]), np.ascontiguousarray(table[:, 1])


_RADIUS_UM, _RATIO = _columns("fog_ratio.csv")
_FILM_ABSORPTION_PER_UM, _FILM_WEIGHT = _columns("water_film.csv")
FOG_TABLE_RADII_UM = (float(_RADIUS_UM[0]), float(_RADIUS_UM[-1]))
_LOG_FIRST = float(np.log(_RADIUS_UM[0]))
_ROWS_PER_LOG = (len(_RADIUS_UM) - 1) / float(np.log(_RADIUS_UM[-1] / _RADIUS_UM[0]))
_LAST_ROW = len(_RADIUS_UM) - 1


@compiled
def fog_extinction_ratio(effective_radius_um):
    """Thermal extinction of fog over its extinction at 0.55 um, by Mie theory [-].

    effective_radius_um [um], scalar: third over second moment of the drop radii. Valid inside FOG_TABLE_RADII_UM (0.4-60 um);
    outside, the value at the table's nearer end is used.
    Formula: straight lines in log radius between the rows of fog_ratio.csv (modified gamma sizes, alpha 6; water of Hale and
    Querry 1973; mean over 8-14 um with the Planck weight of 300 K); within 0.3 % of the calculation itself. Made by
    tests/physics/make_fog_ratio.py. Check: test_droplets.py::test_fog_ratio_*.
    """
    if effective_radius_um <= _RADIUS_UM[0]:
        return _RATIO[0]
    place = (math.log(effective_radius_um) - _LOG_FIRST) * _ROWS_PER_LOG
    row = int(place)
    if row >= _LAST_ROW:
        return _RATIO[_LAST_ROW]
    share = place - row
    return (1.0 - share) * _RATIO[row] + share * _RATIO[row + 1]


@compiled
def fog_extinction_per_m(visibility_m, convention, effective_radius_um):
    """Extinction of fog in the thermal band [1/m]: ratio(r_eff) K / V.

    visibility_m [m] > 0; convention: 0 optical range (5 %), 1 visual range (2 %); effective_radius_um [um]. Scalars.
    """
    return fog_extinction_ratio(effective_radius_um) * koschmieder_constant(convention) / visibility_m


@compiled
def haze_extinction_per_m(visibility_m, convention):
    """Extinction of haze in the thermal band [1/m]: 0.10 K / V (the ratio is common practice, no source).

    Arguments as `fog_extinction_per_m`.
    """
    return HAZE_RATIO * koschmieder_constant(convention) / visibility_m


@compiled
def rain_extinction_per_m(rain_mm_h):
    """Extinction of rain [1/m], the same in visible and thermal light: 3.65e-4 R^0.63.

    rain_mm_h [mm/h], scalar; zero or less gives 0. Formula: drop sizes of Marshall and Palmer (1948), extinction efficiency 2;
    1.585 R^0.63 in dB/km, against 1.58 R^0.63 in ITU-R P.1814. Check: test_droplets.py::test_rain_*.
    """
    if rain_mm_h <= 0.0:
        return 0.0
    return RAIN_FACTOR * rain_mm_h**RAIN_POWER


@compiled
def snow_extinction_from_visibility_per_m(visibility_m, convention):
    """Extinction of falling snow in the thermal band from the visibility in it [1/m]: 1.2 K / V.

    Arguments as `fog_extinction_per_m`.
    """
    return SNOW_RATIO * koschmieder_constant(convention) / visibility_m


@compiled
def snow_visibility_m(snow_mm_h, is_wet):
    """Visibility in falling snow, optical range [m]: 1.3 C3 Vt / S in cgs units.

    snow_mm_h [mm/h of melted water], is_wet [bool], scalars; no snow gives infinity.
    Formula: Rasmussen et al., J. Applied Meteorology 38 (1999); dry (below 0 C) C3 0.017 g/cm2, Vt 100 cm/s; wet 0.072, 200.
    That it is an optical range (5 %) is this project's reading. Laws of snow differ widely: for dry snow at 1 mm/h ITU-R P.1814
    (published value, not checked against the original) has 1.3 1/km of visible extinction where this one has 3.8. Check:
    test_droplets.py::test_snow_*.
    """
    if snow_mm_h <= 0.0:
        return math.inf
    rate_cm_s = snow_mm_h * 0.1 / 3600.0
    mass_g_cm2 = 0.072 if is_wet else 0.017
    fall_cm_s = 200.0 if is_wet else 100.0
    return 0.01 * 1.3 * mass_g_cm2 * fall_cm_s / rate_cm_s


@compiled
def snow_extinction_from_rate_per_m(snow_mm_h, is_wet):
    """Extinction of falling snow in the thermal band from its rate [1/m]: 1.2 K / V with V of `snow_visibility_m`.

    Arguments as `snow_visibility_m`; no snow gives 0.
    """
    return SNOW_RATIO * KOSCHMIEDER_OPTICAL_RANGE / snow_visibility_m(snow_mm_h, is_wet)


@compiled
def window_film_transmission(film_um):
    """What a film of water on the camera's window passes of the contrast [fraction].

    film_um [um] >= 0, scalar; none gives 1. Absorption only: the changed reflection and what waves in the film do to the picture
    are left out. Formula: mean over 8-14 um of exp(-4 pi k x / lambda), weighted with dL/dT at 300 K, on the nodes of
    water_film.csv (made by tests/physics/make_fog_ratio.py). Check: test_droplets.py::test_film_*.
    """
    if film_um <= 0.0:
        return 1.0
    total = 0.0
    for node in range(len(_FILM_WEIGHT)):
        total += _FILM_WEIGHT[node] * math.exp(-_FILM_ABSORPTION_PER_UM[node] * film_um)
    return total


@compiled
def droplet_extinctions(
    fog_kind, visibility_m, visibility_given, convention, effective_radius_um, rain_mm_h, snow_mm_h, air_temperature_k
):
    """Who gets the visibility: extinctions of (fog or haze, rain, snow) [1/m].

    fog_kind: 0 none, 1 radiation, 2 advection; visibility_m [m]; visibility_given [bool]: false when the user left it out and
    visibility_m is only a default; convention: 0 optical range, 1 visual range; effective_radius_um [um], used with fog only;
    rain_mm_h, snow_mm_h [mm/h of water]; air_temperature_k [K]: snow at 0 C and above is wet. Scalars.

    One visibility describes all that is in the air together, so it is spent once:
    - fog named: the visibility is the fog's; rain and snow come from their rates. A visibility that was left out is the default
      (20 km), which makes a named fog next to nothing: the caller should ask for it.
    - no fog, rain: rain comes from its rate; visibility (given or not) is not counted a second time, so there is no haze either.
    - no fog, snow: from the visibility when it is given, else from its rate.
    - no fog, rain and snow together: rain takes its rate; snow takes what the given visibility leaves after the rain (whose
      extinction is the same in visible light), never below 0; without a given visibility both come from their rates.
    - none of them: haze from the visibility.
    """
    rain = rain_extinction_per_m(rain_mm_h)
    is_wet = air_temperature_k >= ZERO_CELSIUS_K
    if fog_kind != NO_FOG:
        fog = fog_extinction_per_m(visibility_m, convention, effective_radius_um)
        return fog, rain, snow_extinction_from_rate_per_m(snow_mm_h, is_wet)
    if snow_mm_h > 0.0:
        if visibility_given:
            snow = max(snow_extinction_from_visibility_per_m(visibility_m, convention) - SNOW_RATIO * rain, 0.0)
        else:
            snow = snow_extinction_from_rate_per_m(snow_mm_h, is_wet)
        return 0.0, rain, snow
    if rain > 0.0:
        return 0.0, rain, 0.0
    return haze_extinction_per_m(visibility_m, convention), 0.0, 0.0
