"""Remake two small tables in sim/fencecast/physics: fog_ratio.csv and water_film.csv.

Run from the repository's root: python tests/physics/make_fog_ratio.py (some ten seconds, mostly compilation). Needs miepython.

fog_ratio.csv: thermal extinction of fog over its visible extinction, by effective drop radius.

Drops: modified gamma sizes, n(r) ~ r^alpha exp(-b r), effective radius (alpha + 3)/b. Extinction: Mie theory, integral of
n(r) pi r^2 Q(r) dr. Thermal value: mean over 8-14 um weighted with the Planck radiance of 300 K; visible value: at 0.55 um.

water_film.csv: nodes of the band mean of exp(-4 pi k x / lambda), weighted with dL/dT at 300 K: absorption 4 pi k / lambda [1/um]
and weight (Simpson's rule, weights add up to 1).

Index of water: the points of waterindex.py, joined by monotone cubics (n, and the logarithm of k). Straight lines
instead would give up to 0.7 % in the ratio of fog and 0.004 in the film's transmission, logarithmic ones 1.2 % for small drops.
"""

from __future__ import annotations

import os
from pathlib import Path

os.environ.setdefault("MIEPYTHON_USE_JIT", "1")  # ten times faster; read by miepython when it is first imported

import miepython
import numpy as np
import waterindex
from scipy.interpolate import PchipInterpolator

FOLDER = Path(__file__).resolve().parents[2] / "sim" / "fencecast" / "physics"
ALPHA = 6.0
LOWEST_UM, HIGHEST_UM, ROWS = 0.4, 60.0, 101  # even steps of 5 % in radius: straight lines between are within 0.1 %
WEIGHT_TEMPERATURE_K = 300.0
C2_UM_K = 14387.769


def water_index(wavelength_um):
    """Real and imaginary index of water in the thermal band."""
    n = PchipInterpolator(waterindex.WAVELENGTH_UM, waterindex.INDEX_N)(wavelength_um)
    return n, np.exp(PchipInterpolator(waterindex.WAVELENGTH_UM, np.log(waterindex.INDEX_K))(wavelength_um))


def planck_shape(wavelength_um):
    """Spectral radiance of a black body at 300 K, in any unit."""
    return wavelength_um**-5.0 / np.expm1(C2_UM_K / (wavelength_um * WEIGHT_TEMPERATURE_K))


def planck_slope_shape(wavelength_um):
    """Its derivative by temperature, in any unit."""
    x = C2_UM_K / (wavelength_um * WEIGHT_TEMPERATURE_K)
    return planck_shape(wavelength_um) * x / -np.expm1(-x)


def drop_grid(lowest_radius_um: float, highest_radius_um: float, step: float) -> np.ndarray:
    """Radii [um] that hold all that matters of the distributions between these effective radii, even steps in log r."""
    low, high = np.log(lowest_radius_um / 12.0), np.log(4.5 * highest_radius_um)
    return np.exp(np.arange(low, high + step, step))


def extinction_efficiency(radius_um: np.ndarray, wavelength_um: float, n: float, k: float) -> np.ndarray:
    """Mie extinction efficiency of each drop."""
    return miepython.efficiencies_mx(complex(n, -k), 2.0 * np.pi * radius_um / wavelength_um)[0]


def mean_extinction(radius_um: np.ndarray, efficiency: np.ndarray, effective_um: float, alpha: float) -> float:
    """Integral of n(r) pi r^2 Q dr for one distribution (any constant factor cancels in the ratio)."""
    rate = (alpha + 3.0) / effective_um
    weight = np.exp((alpha + 3.0) * np.log(radius_um * rate) - radius_um * rate)  # r^alpha r^2 exp(-b r) times dr = r dlog r
    return float(np.sum(weight * efficiency) / np.sum(weight))


def fog_ratios(
    effective_um: np.ndarray, alpha: float = ALPHA, step: float = 0.005, wavelength_step_um: float = 0.125
) -> np.ndarray:
    """Ratio for each effective radius [um]."""
    effective_um = np.asarray(effective_um, dtype=float)
    radius_um = drop_grid(effective_um.min(), effective_um.max(), step)
    # The visible drops are large against the wavelength: a finer grid keeps the interference ripple from being sampled in step.
    fine_um = drop_grid(effective_um.min(), effective_um.max(), step / 2.0)
    n, k = waterindex.VISIBLE_INDEX
    visible = extinction_efficiency(fine_um, waterindex.VISIBLE_UM, n, k)
    wavelengths = np.arange(8.0, 14.0 + wavelength_step_um / 2.0, wavelength_step_um)
    planck = planck_shape(wavelengths)
    planck[[0, -1]] *= 0.5  # trapezoid
    thermal = np.zeros_like(radius_um)
    for wavelength, weight in zip(wavelengths, planck / planck.sum(), strict=True):
        n, k = water_index(wavelength)
        thermal += weight * extinction_efficiency(radius_um, wavelength, n, k)
    return np.array(
        [mean_extinction(radius_um, thermal, r, alpha) / mean_extinction(fine_um, visible, r, alpha) for r in effective_um]
    )


def table_radii() -> np.ndarray:
    """Effective radii [um] of the table's rows."""
    return np.geomspace(LOWEST_UM, HIGHEST_UM, ROWS)


def film_nodes() -> tuple[np.ndarray, np.ndarray]:
    """Absorption [1/um] and weight of each node of the window film's band mean."""
    wavelengths = np.linspace(8.0, 14.0, 25)
    simpson = np.where(np.arange(25) % 2 == 1, 4.0, 2.0)
    simpson[[0, -1]] = 1.0
    weight = simpson * planck_slope_shape(wavelengths)
    return 4.0 * np.pi * water_index(wavelengths)[1] / wavelengths, weight / weight.sum()


def main() -> None:
    """Write the tables."""
    radii = table_radii()
    lines = ["effective_radius_um,extinction_ratio"]
    lines += [f"{radius:.6f},{ratio:.6f}" for radius, ratio in zip(radii, fog_ratios(radii), strict=True)]
    (FOLDER / "fog_ratio.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    lines = ["absorption_per_um,weight"]
    lines += [f"{absorption:.8f},{weight:.10f}" for absorption, weight in zip(*film_nodes(), strict=True)]
    (FOLDER / "water_film.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
