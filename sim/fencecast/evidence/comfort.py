"""Thermal comfort's outside side: ISO 7730's heat balance, written out again, and its table of examples."""

from __future__ import annotations

import math

from fencecast.evidence.check import outside

MET_W_M2 = 58.15
# ISO 7730:2005, Table D.1 (published values, not checked against the originals; the rows agree with what open-source comfort
# programs are tested with): air and radiant temperature [C], air speed [m/s], humidity [%], metabolic rate [met], insulation
# [clo], PMV. Row 7 (23.5, 23.5, 0.10, 40, 1.2, 1.0: 0.50) is left out: the standard's own formulas give 0.36 there, as other
# programs also found.
TABLE_D1 = (
    (22.0, 22.0, 0.10, 60.0, 1.2, 0.5, -0.75),
    (27.0, 27.0, 0.10, 60.0, 1.2, 0.5, 0.77),
    (27.0, 27.0, 0.30, 60.0, 1.2, 0.5, 0.44),
    (23.5, 25.5, 0.10, 60.0, 1.2, 0.5, -0.01),
    (23.5, 25.5, 0.30, 60.0, 1.2, 0.5, -0.55),
    (19.0, 19.0, 0.10, 40.0, 1.2, 1.0, -0.60),
    (23.5, 23.5, 0.30, 40.0, 1.2, 1.0, 0.12),
    (23.0, 21.0, 0.10, 40.0, 1.2, 1.0, 0.05),
    (23.0, 21.0, 0.30, 40.0, 1.2, 1.0, -0.16),
    (22.0, 22.0, 0.10, 60.0, 1.6, 0.5, 0.05),
    (27.0, 27.0, 0.10, 60.0, 1.6, 0.5, 1.17),
    (27.0, 27.0, 0.30, 60.0, 1.6, 0.5, 0.95),
)


def area_factor(clo: float) -> float:
    """f_cl of ISO 7730."""
    insulation = 0.155 * clo
    return 1.00 + 1.29 * insulation if insulation <= 0.078 else 1.05 + 0.645 * insulation


def skin_c(met: float) -> float:
    """Skin temperature of ISO 7730, no external work."""
    return 35.7 - 0.028 * met * MET_W_M2


def surface_implied_by_pmv_c(air_c, radiant_c, air_speed, humidity, met, clo, pmv) -> float:
    """Surface temperature of the clothing that a PMV stands for: ISO 7730's losses solved for it."""
    heat = met * MET_W_M2
    vapour_pa = 10.0 * humidity * math.exp(16.6536 - 4030.183 / (air_c + 235.0))
    other = 3.05e-3 * (5733.0 - 6.99 * heat - vapour_pa) + 0.42 * max(heat - MET_W_M2, 0.0)
    other += 1.7e-5 * heat * (5867.0 - vapour_pa) + 0.0014 * heat * (34.0 - air_c)
    surface_loss = heat - other - pmv / (0.303 * math.exp(-0.036 * heat) + 0.028)

    def excess(surface_c):
        transfer = max(2.38 * abs(surface_c - air_c) ** 0.25, 12.1 * math.sqrt(air_speed))
        radiated = 3.96e-8 * ((surface_c + 273.0) ** 4 - (radiant_c + 273.0) ** 4)
        return area_factor(clo) * (radiated + transfer * (surface_c - air_c)) - surface_loss

    return outside("scipy.optimize").brentq(excess, air_c - 40.0, 60.0, xtol=1e-10)


def wet_bulb_c(air_c: float, vapour_kpa: float, saturation_kpa) -> float:
    """Reading of an Assmann psychrometer, WMO No. 8: coefficient 6.53e-4 (1 + 9.44e-4 t) p.

    Published value, not checked against the original.
    """

    def excess(bulb_c):
        coefficient = 6.53e-4 * (1.0 + 9.44e-4 * bulb_c) * 101.325
        return saturation_kpa(bulb_c) - coefficient * (air_c - bulb_c) - vapour_kpa

    return outside("scipy.optimize").brentq(excess, -40.0, air_c)
