"""What present-weather codes say of rain and snow, for hours in which the gauge says nothing.

A code tells how heavy, not how much. Light, moderate and heavy are up to 2.5, 2.8 to 7.6 and above 7.6 mm/h for rain, up to 0.25,
0.25 to 0.5 and above for drizzle (EPW data dictionary); a value inside each class stands for it, low in it because light rain is
common and heavy rain rare (judgement). Snow as water: a tenth of heavy rain's classes (judgement, no source).
"""

from __future__ import annotations

import numpy as np

from fencecast.meteorology.records.rows import Notes

RAIN_MM_H = {"light": 1.0, "moderate": 4.0, "heavy": 10.0}
DRIZZLE_MM_H = {"light": 0.1, "moderate": 0.35, "heavy": 0.6}
SNOW_MM_H = {"light": 0.4, "moderate": 1.0, "heavy": 2.0}
_INTENSITIES = ("light", "moderate", "heavy")
# Digits of an EPW code that tell of what falls, counted from 0, and what it is; digits 0, 1, 2 and 3, 4, 5 and 6, 7, 8 are light,
# moderate and heavy of three kinds (rain, showers, freezing rain), 9 is none.
_EPW_DIGITS = {1: RAIN_MM_H, 2: DRIZZLE_MM_H, 3: SNOW_MM_H, 4: SNOW_MM_H, 5: SNOW_MM_H, 8: SNOW_MM_H}
_SQUALLS = ("0", "1", "2")


def epw_code_mm_h(code: str) -> float:
    """What falls by an EPW code of nine digits [mm/h of water]: the heaviest that it tells of; NaN for "" (not observed)."""
    if code == "":
        return np.nan
    rates = [0.0]
    for place, table in _EPW_DIGITS.items():
        if code[place] != "9":
            # The third digit's first kind is rain squalls.
            chosen = RAIN_MM_H if place == 2 and code[place] in _SQUALLS else table
            rates.append(chosen[_INTENSITIES[int(code[place]) % 3]])
    return max(rates)


# Two-digit codes of WMO table 4677 (published values, [M]): tens tell the kind, units the intensity in steps of two.
_BY_UNIT = dict(
    zip(range(10), ("light", "light", "moderate", "moderate", "heavy", "heavy", "light", "moderate", "light", "moderate"))
)
_SHOWERS = {80: "light", 81: "moderate", 82: "heavy", 83: "light", 84: "moderate"}
_SNOW_SHOWERS = {85: "light", 86: "moderate", 87: "light", 88: "moderate"}
_THUNDER = {91: "light", 92: "moderate", 95: "moderate", 96: "moderate", 97: "heavy", 98: "moderate", 99: "heavy"}


def wmo_code_mm_h(code: str) -> float:
    """What falls by a two-digit code of WMO table 4677 [mm/h of water]; NaN for "" (not observed)."""
    if code == "":
        return np.nan
    number = int(code)
    if number < 50:
        return 0.0
    if number < 80:
        table = {5: DRIZZLE_MM_H, 6: RAIN_MM_H, 7: SNOW_MM_H}[number // 10]
        # 76 to 79 are ice needles, snow grains, crystals and ice pellets: light.
        return table["light" if number > 75 else _BY_UNIT[number % 10]]
    if number in _SNOW_SHOWERS:
        return SNOW_MM_H[_SNOW_SHOWERS[number]]
    # 89, 90, 93 and 94 are hail: as light rain.
    return RAIN_MM_H[{**_SHOWERS, **_THUNDER}.get(number, "light")]


def fill_from_codes(depth_mm: np.ndarray, by_code_mm_h: np.ndarray, notes: Notes) -> None:
    """Where the gauge (rows,) is silent and the code (rows,) is known, the code's rate stands for it, in place; noted."""
    use = np.isnan(depth_mm) & np.isfinite(by_code_mm_h)
    depth_mm[use] = by_code_mm_h[use]
    wet = int(np.count_nonzero(use & (by_code_mm_h > 0.0)))
    if np.any(use):
        why = f"no gauge: rates from the weather codes ({int(np.count_nonzero(use)):,} rows, {wet:,} of them wet)"
        notes.add(None, "precipitation_mm_h", "light, moderate or heavy", why)
