"""Band radiance, and the temperatures and radiances of ground, clothing and skin."""

import numpy as np
from scipy.optimize import brentq

from fencecast.evidence.independent.air import saturation_pressure_hpa

ZERO_C = 273.15
STEFAN = 5.670374419e-8
_C1 = 2.0 * 6.62607015e-34 * 299792458.0**2
_C2 = 6.62607015e-34 * 299792458.0 / 1.380649e-23
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(24)

GROUND_EMISSIVITY = {
    "asphalt": 0.943,
    "concrete": 0.939,
    "brick": 0.938,
    "gravel": 0.93,
    "soil": 0.96,
    "grass": 0.98,
    "snow": 0.98,
}
SKIN_EMISSIVITY = 0.98
WET_CLOTH_EMISSIVITY = 0.96


def _wavelengths(band_um):
    middle, half = 0.5e-6 * (band_um[0] + band_um[1]), 0.5e-6 * (band_um[1] - band_um[0])
    return middle + half * _NODES, half * _WEIGHTS


def radiance(temperature_k, band_um=(8.0, 14.0)):
    """Planck's radiance over the band [W/(m²·sr)], Gauss-Legendre in wavelength. temperature_k: any shape."""
    wavelength, weight = _wavelengths(band_um)
    temperature = np.asarray(temperature_k, float)[..., None]
    return np.sum(weight * _C1 / wavelength**5 / np.expm1(_C2 / (wavelength * temperature)), axis=-1)


def spectral_slope(wavelength_m, temperature_k):
    x = _C2 / (wavelength_m * temperature_k)
    return _C1 / wavelength_m**5 * x / temperature_k * np.exp(x) / np.expm1(x) ** 2


def radiance_slope(temperature_k, band_um=(8.0, 14.0)):
    """dL/dT over the band [W/(m²·sr·K)] at one temperature."""
    wavelength, weight = _wavelengths(band_um)
    return float(np.sum(weight * spectral_slope(wavelength, temperature_k)))


def median_clo(air_temperature_c):
    return float(np.interp(air_temperature_c, [-20.0, 0.0, 5.0, 10.0, 20.0, 30.0], [3.0, 2.0, 1.5, 1.0, 0.6, 0.5]))


def cloth_temperature_c(air_c, humidity, wind, walk, clo, emissivity, wetness, ground_c, low_sky_c):
    """Outer clothing temperature from the heat balance [Celsius]. Speeds in m/s; emissivity as it is when wet."""
    skin_c = float(np.interp(air_c, [-20.0, 20.0], [29.0, 33.0]))
    insulation = 0.155 * clo
    area_factor = 1.0 + 1.97 * insulation
    wind_cut, walk_cut, permeability = min(wind, 3.0), min(walk, 1.2), 8.0
    damping = np.exp(-0.15 * wind_cut - 0.22 * walk_cut)
    air_layer = 0.092 * damping - 0.0045
    reduced = (insulation + 0.085 / area_factor) * (
        0.54 * damping * permeability**0.075 - 0.06 * np.log(permeability) + 0.5
    ) - air_layer / area_factor
    forced = 12.1 * np.sqrt(np.hypot(wind, walk))
    surroundings = 0.5 * (ground_c + ZERO_C) ** 4 + 0.5 * (low_sky_c + ZERO_C) ** 4
    air_pressure_kpa = 0.1 * humidity * saturation_pressure_hpa(air_c)

    def imbalance(cloth_c):
        convection = max(2.38 * abs(cloth_c - air_c) ** 0.25, forced)
        dry = convection * (cloth_c - air_c) + emissivity * STEFAN * ((cloth_c + ZERO_C) ** 4 - surroundings)
        wet = wetness * 16.5 * convection * (0.1 * saturation_pressure_hpa(cloth_c) - air_pressure_kpa)
        return (skin_c - cloth_c) / reduced - area_factor * (dry + wet)

    return brentq(imbalance, air_c - 60.0, max(skin_c, air_c) + 40.0, xtol=1e-9)


def skin_temperature_c(air_c, wind, walk):
    transfer = 4.5 + 8.3 * np.hypot(wind, walk) ** 0.6
    return air_c + (37.0 - air_c) / (1.0 + transfer * 0.05)


class Surfaces:
    """Radiances of one crossing in one band: ground, clothing, head, air."""

    def __init__(self, draw, person, speed_m_s, ground_emissivity, band_um):
        air_c = draw["air_temperature_c"]
        self.air_c = air_c
        self.ground_c = air_c + draw["ground_minus_air_k"]
        low_sky_c = air_c - (10.0 if draw["sky"] == "clear" else 2.0)
        wetness = draw["wetness"]
        self.cloth_emissivity = person["clothing_emissivity"] * (1.0 - wetness) + WET_CLOTH_EMISSIVITY * wetness
        self.cloth_c = cloth_temperature_c(
            air_c,
            draw["relative_humidity"],
            draw["wind_m_s"],
            speed_m_s,
            person["clo"],
            self.cloth_emissivity,
            wetness,
            self.ground_c,
            low_sky_c,
        )
        self.skin_c = skin_temperature_c(air_c, draw["wind_m_s"], speed_m_s)
        air, ground, sky, cloth, skin = radiance(
            np.array([air_c, self.ground_c, low_sky_c, self.cloth_c, self.skin_c]) + ZERO_C, band_um
        )
        self.air_radiance = air
        self.ground_radiance = ground_emissivity * ground + (1.0 - ground_emissivity) * sky
        around = 0.5 * self.ground_radiance + 0.5 * sky
        self.cloth_radiance = self.cloth_emissivity * cloth + (1.0 - self.cloth_emissivity) * around
        skin_radiance = SKIN_EMISSIVITY * skin + (1.0 - SKIN_EMISSIVITY) * around
        share = person["bare_head_share"]
        self.head_radiance = share * skin_radiance + (1.0 - share) * self.cloth_radiance
        self.head_c = share * self.skin_c + (1.0 - share) * self.cloth_c
        self.head_emissivity = share * SKIN_EMISSIVITY + (1.0 - share) * self.cloth_emissivity
        self.part_radiance = np.array([self.head_radiance] + [self.cloth_radiance] * 3)
        self.ground_slope = radiance_slope(self.ground_c + ZERO_C, band_um)
