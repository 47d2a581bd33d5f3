"""Fog by Mie theory: the outside side of the fog checks, worked out anew from drop sizes, water and a Mie library."""

from __future__ import annotations

import math
from functools import cache

import numpy as np

from fencecast.evidence.check import outside

# Hale and Querry, Applied Optics 12, 555 (1973): wavelength [um], n, k.
WATER = np.array(
    [
        [8.0, 1.291, 0.0343], [9.0, 1.262, 0.0399], [10.0, 1.218, 0.0508], [10.6, 1.179, 0.0723],
        [11.0, 1.153, 0.0968], [12.0, 1.111, 0.199], [13.0, 1.146, 0.305], [14.0, 1.210, 0.370],
    ]
)  # fmt: skip
WATER_VISIBLE = (0.55, 1.333, 2.0e-9)
C2_UM_K = 14387.769
# Drop radii on which efficiencies are tabulated: thermal ones are smooth, visible ones ripple.
_THERMAL_UM = np.geomspace(0.03, 90.0, 260)
_VISIBLE_UM = np.geomspace(0.03, 90.0, 2000)


def water_index(wavelength_um):
    """Index of water (n, k) between the published points: monotone cubics in n and in the logarithm of k."""
    pchip = outside("scipy.interpolate").PchipInterpolator
    return pchip(WATER[:, 0], WATER[:, 1])(wavelength_um), np.exp(pchip(WATER[:, 0], np.log(WATER[:, 2]))(wavelength_um))


def efficiency(radius_um, wavelength_um: float, n: float, k: float):
    """Mie extinction efficiency of each drop."""
    size = 2.0 * np.pi * np.asarray(radius_um, dtype=float) / wavelength_um
    return outside("miepython").efficiencies_mx(complex(float(n), -float(k)), size)[0]


@cache
def _efficiencies() -> tuple[np.ndarray, np.ndarray]:
    """(thermal, visible): extinction efficiency on the two grids of radii; thermal with the Planck weight of 300 K."""
    nodes = np.linspace(8.0, 14.0, 25)
    simpson = np.where(np.arange(25) % 2 == 1, 4.0, 2.0)
    simpson[[0, -1]] = 1.0
    weight = simpson * nodes**-5.0 / np.expm1(C2_UM_K / (nodes * 300.0))
    n, k = water_index(nodes)
    each = [efficiency(_THERMAL_UM, *case) for case in zip(nodes, n, k)]
    return weight @ np.array(each) / weight.sum(), efficiency(_VISIBLE_UM, *WATER_VISIBLE)


def fog_ratio(effective_um: float, alpha: float) -> float:
    """Extinction of a fog in 8-14 um over that at 0.55 um.

    Drops n(r) ~ r^alpha exp(-b r): by cross-section their radii follow a gamma distribution of shape alpha + 3 whose mean is
    the effective radius, so that the extinction is a mean efficiency over even shares of that distribution.
    """
    share = (np.arange(4000) + 0.5) / 4000.0
    radii = outside("scipy.special").gammaincinv(alpha + 3.0, share) * effective_um / (alpha + 3.0)
    thermal, visible = _efficiencies()
    at = np.log(radii)
    return float(np.interp(at, np.log(_THERMAL_UM), thermal).mean() / np.interp(at, np.log(_VISIBLE_UM), visible).mean())


def film_transmission(film_um: float) -> float:
    """What a film of water passes: mean of Beer's law over 8-14 um with the weight dL/dT at 300 K."""
    quad = outside("scipy.integrate").quad

    def slope(wavelength):
        x = C2_UM_K / (wavelength * 300.0)
        return wavelength**-5.0 / math.expm1(x) * x / -math.expm1(-x)

    def passed(wavelength):
        return slope(wavelength) * math.exp(-4.0 * math.pi * float(water_index(wavelength)[1]) * film_um / wavelength)

    points = list(WATER[1:-1, 0])
    return quad(passed, 8.0, 14.0, points=points, limit=200)[0] / quad(slope, 8.0, 14.0)[0]
