"""Two habits of gauges in typical-year files: depths in tenths of a millimetre, and a gauge that says nothing."""

from __future__ import annotations

import numpy as np

from fencecast.meteorology.records.rows import Notes

_TENTH = 0.1
# Depths of 0.01 inch steps in tenths of a millimetre are 3, 5, 8, 10, 13 ...: 4 of 10 whole numbers. In millimetres the
# smallest steps would be 0, 1, 1, 1, 1.
_STEPS = np.unique(np.round(2.54 * np.arange(1, 400)))
_ON_STEPS = 0.9
_FEWEST_WET = 30
# Nowhere does the mean wet hour bring so much: it is 1 to 3 mm in the temperate zones, 5 mm in the wettest (judgement).
_WET_HOUR_MM = 15.0
_FEWEST_CODED = 10


def tenths_for_millimetres(depth_mm: np.ndarray, notes: Notes) -> None:
    """Divides depths (rows,) by ten, in place, when they were written as tenths of a millimetre under a heading of millimetres.

    It is so when nearly all are whole tenths of gauge steps of a hundredth of an inch, or when the mean wet hour is impossible.
    """
    wet = depth_mm[depth_mm > 0.0]
    if len(wet) < _FEWEST_WET:
        return
    stepped = np.mean(np.isin(wet, _STEPS)) >= _ON_STEPS
    if not stepped and np.mean(wet) <= _WET_HOUR_MM:
        return
    why = "whole tenths of a millimetre in gauge steps of 0.01 inch" if stepped else f"a mean wet hour of {np.mean(wet):.0f} mm"
    notes.add(
        None,
        "precipitation_mm_h",
        f"{np.nansum(depth_mm):,.0f} mm in all",
        f"not millimetres but tenths ({why}); divided by ten",
    )
    depth_mm *= _TENTH


def period_of(depth_mm: np.ndarray, hours: np.ndarray, missing: float, notes: Notes) -> np.ndarray:
    """Over how many hours each depth was gathered (rows,); a depth whose period is missing (or more) is dropped, in place."""
    unknown = ~(hours < missing) & (hours > 0.0) & (depth_mm > 0.0)
    if np.any(unknown):
        count = int(np.count_nonzero(unknown))
        notes.add(None, "precipitation_mm_h", f"{count:,} depths", "the hours that they were gathered over are missing; dropped")
        depth_mm[unknown] = np.nan
    return np.where(hours < missing, hours, np.nan)


def silent_gauge(depth_mm: np.ndarray, falls: np.ndarray, notes: Notes) -> None:
    """Marks depths (rows,) as missing, in place, when all are zero though the weather codes tell of rain or snow (mask, rows)."""
    hours = int(np.count_nonzero(falls))
    if hours < _FEWEST_CODED or np.nansum(depth_mm) > 0.0 or np.all(np.isnan(depth_mm)):
        return
    why = f"zero in every hour, but the weather codes tell of rain or snow in {hours:,}: the gauge is missing, not dry"
    notes.add(None, "precipitation_mm_h", 0.0, why)
    depth_mm[:] = np.nan
