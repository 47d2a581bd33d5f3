"""The hourly ground and sky against a closed form, a conducting slab, an irrigation standard and another formula of the sky."""

from __future__ import annotations

import math

import numpy as np
from scipy.linalg import solve_banded

from fencecast.evidence.check import Check, absolute, relative, with_version
from fencecast.physics import ground_heat, ground_history, sky

_DAY_S = 86_400.0
_FREQUENCY = 2.0 * math.pi / _DAY_S
_SLAB_DAYS, _SLAB_STEPS = 20, 6


def daily_wave() -> Check:
    """Catches a force or a restoring rate off by a factor, an inertia in other units."""
    step_s, rows = 60.0, 0
    ours, theirs = [], []
    for inertia in (350.0, 1205.0, 1785.0):
        time = np.arange(1, 20 * 1440 + 1) * step_s
        surface_k, found = 0.0, []
        for heat in 100.0 * np.cos(_FREQUENCY * time):
            surface_k = ground_heat.restored_surface_k(surface_k, 0.0, heat, 0.0, surface_k, inertia, step_s)
            found.append(surface_k)
        day, turn = np.array(found[-1440:]), _FREQUENCY * time[-1440:]
        even, odd = 2.0 * np.mean(day * np.cos(turn)), 2.0 * np.mean(day * np.sin(turn))
        ours += [math.hypot(even, odd), math.atan2(odd, even)]
        theirs += [100.0 / (inertia * math.sqrt(_FREQUENCY)), math.pi / 4.0]
        rows += 2
    return Check(
        "daily_wave",
        "Ground: amplitude and lag under a daily wave of heat",
        relative(ours, theirs),
        "relative",
        0.003,
        "steps of a minute, first order in the step",
        "closed form of a half space: G / (I sqrt(omega)), an eighth of a day late (Carslaw & Jaeger)",
        rows,
        note=f"asphalt, 100 W/m²: {ours[2]:.2f} K, {ours[3] / _FREQUENCY / 3600.0:.2f} h",
    )


def _fair_days(warm_c: float, sun_w_m2: float, sky_w_m2: float, long_h: float) -> tuple[np.ndarray, ...]:
    """The same fair day many times: air [K], vapour [hPa], wind [m/s], sun and longwave [W/m2], each (hours,)."""
    clock = np.arange(24 * _SLAB_DAYS) % 24 + 0.5
    air_k = 273.15 + warm_c + 5.0 * np.cos(2.0 * math.pi * (clock - 15.0) / 24.0)
    daylight = np.clip((clock - 12.0) / long_h + 0.5, 0.0, 1.0)
    sun = sun_w_m2 * np.sin(math.pi * daylight) ** 1.2
    return air_k, np.full(len(clock), 5.0), 1.5 + 1.5 * np.sin(math.pi * daylight), sun, np.full(len(clock), sky_w_m2)


def _slab_k(air_k, vapour, wind, sun, longwave, surface) -> np.ndarray:
    """Surface of a slab of 70 layers, 1.7 m deep, under the product's fluxes but conducting by itself [K] (hours,); implicit."""
    conductivity = 0.75
    thick = np.geomspace(0.003, 0.06, 70)
    middles = np.cumsum(thick) - 0.5 * thick
    capacity = surface.inertia**2 / conductivity * thick * _SLAB_STEPS / 3600.0
    between, top = conductivity / np.diff(middles), conductivity / middles[0]
    places = np.arange(len(air_k)) + 0.5
    layers, at_k, means = np.full(70, air_k.mean()), float(air_k.mean()), []
    matrix = np.zeros((3, 70))
    matrix[0, 1:] = matrix[2, :-1] = -between
    for hour in range(len(air_k)):
        total = 0.0
        for step in range(_SLAB_STEPS):
            now = hour + (step + 0.5) / _SLAB_STEPS
            values = [float(np.interp(now, places, each)) for each in (air_k, vapour, wind, sun, longwave)]
            air = ground_heat.Air(*values[:3], 1013.25, *values[3:])
            for _ in range(3):
                *flux, slope = ground_heat.surface_fluxes_w_m2(at_k, air, surface, 0.0)
                given = flux[0] + flux[1] - flux[2] - flux[3] - slope * at_k
                matrix[1] = capacity
                matrix[1, :-1] += between
                matrix[1, 1:] += between
                matrix[1, 0] += top * (1.0 - top / (top - slope))
                right = capacity * layers
                right[0] += top * given / (top - slope)
                new = solve_banded((1, 1), matrix, right)
                at_k = (given + top * new[0]) / (top - slope)
            layers = new
            total += at_k / _SLAB_STEPS
        means.append(total)
    return np.array(means)


def ground_slab() -> Check:
    """Catches a slow layer, a spin-up or an implicit step that has lost the ground which it stands for."""
    asphalt, snow = ground_heat.MATERIALS["asphalt"], ground_heat.MATERIALS["snow"]
    differences = []
    for fair in (_fair_days(16.0, 850.0, 320.0, 16.0), _fair_days(0.0, 250.0, 235.0, 8.0)):
        air_k, vapour, wind, sun, longwave = fair
        nothing, unsaid = np.zeros(len(air_k)), np.full(len(air_k), np.nan)
        modelled = ground_history.ground_history(
            air_k, vapour, wind, nothing + 1013.25, nothing, nothing, unsaid, sun[None], longwave[None],
            asphalt, snow, float(air_k.mean()), 0, 10,
        )[0][0]  # fmt: skip
        differences.append((modelled - _slab_k(air_k, vapour, wind, sun, longwave, asphalt))[-24:])
    off = np.concatenate(differences)
    return Check(
        "ground_slab",
        "Ground: surface of asphalt through a fair day of summer and of winter",
        absolute(off, 0.0 * off),
        "K",
        2.0,
        "the model knows one frequency, a day has several",
        f"conducting slab of 70 layers under the same fluxes ({with_version('scipy')} solver)",
        len(off),
        note=f"rms {math.sqrt(np.mean(off**2)):.2f} K, mean {off.mean():+.2f} K",
    )


def air_exchange() -> Check:
    """Catches a wind at the wrong height, a roughness for heat that is that for wind."""
    winds = (1.0, 2.0, 4.0, 8.0)
    at_2_m = math.log(2.0 / 0.015) / math.log(10.0 / 0.015)
    ours = [1.0 / (ground_heat.air_exchange_m_s(285.0, 285.0, wind, 0.015) - ground_heat.WINDLESS_M_S) for wind in winds]
    return Check(
        "air_exchange",
        "Ground: resistance of the air over short grass, 1-8 m/s",
        relative(ours, [208.0 / (wind * at_2_m) for wind in winds]),
        "relative",
        0.08,
        "von Karman's constant 0.40 for 0.41: 5 %; no displacement: 3 %",
        "FAO Irrigation and Drainage Paper 56, box 4: 208 / wind at 2 m",
        len(winds),
    )


def clear_sky() -> Check:
    """Catches vapour in other units, a coefficient of the sky mistyped."""
    cases = [(vapour, 273.15 + celsius) for vapour in (6.0, 8.0, 12.0, 20.0, 30.0) for celsius in (-10.0, 0.0, 10.0, 20.0, 30.0)]
    return Check(
        "clear_sky",
        "Sky: emissivity of the clear sky, 6-30 hPa, -10..30 °C",
        absolute([sky.clear_sky_emissivity(*case) for case in cases], [1.24 * (e / t) ** (1.0 / 7.0) for e, t in cases]),
        "absolute",
        0.035,
        "two formulas for other stations; they part below 6 hPa, where Brutsaert's goes to nothing",
        "Brutsaert 1975",
        len(cases),
    )


CHECKS = (daily_wave, ground_slab, air_exchange, clear_sky)
