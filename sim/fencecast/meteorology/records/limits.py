"""What is impossible, field by field, and what becomes of it: reported with row and value, then dropped."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fencecast.meteorology.records.rows import Notes, Rows


@dataclass(frozen=True)
class Limit:
    """Possible values of a field, in the units of its name, and why nothing lies outside."""

    low: float
    high: float
    why: str


# Records of nature ([M]) of the World Meteorological Organization's archive of extremes, with a margin; each limit is far
# outside what a station sees in an ordinary year, so that nothing real is dropped.
LIMITS = {
    "air_temperature_c": Limit(-90.0, 60.0, "the coldest and hottest air measured are -89.2 and 56.7 C"),
    "dew_point_c": Limit(-100.0, 40.0, "the highest dew point measured is about 35 C"),
    "relative_humidity": Limit(0.001, 1.1, "air is never quite dry, and a sensor reads at most a few percent above saturation"),
    "wind_m_s": Limit(0.0, 75.0, "a mean of minutes above 75 m/s belongs to the worst storms on record, not to a fence"),
    "visibility_m": Limit(0.0, 200_000.0, "the eye reaches about 200 km in the cleanest air, from a mountain"),
    "rain_mm_h": Limit(0.0, 400.0, "the most that fell in an hour is about 400 mm"),
    "snow_mm_h": Limit(0.0, 100.0, "heavy snow is a few mm of water in an hour"),
    "precipitation_mm_h": Limit(0.0, 400.0, "the most that fell in an hour is about 400 mm"),
    "snow_depth_m": Limit(0.0, 12.0, "the deepest snow measured is 11.8 m"),
    "cloud": Limit(0.0, 1.0, "a share of the sky"),
    "ceiling_m": Limit(0.0, 30_000.0, "no cloud is higher"),
    "pressure_hpa": Limit(300.0, 1090.0, "from the highest mountains to the highest pressure measured, 1,085 hPa"),
    "ghi_w_m2": Limit(0.0, 1500.0, "the sun gives 1,361 W/m2 outside the air; broken cloud adds little over an hour"),
    "dni_w_m2": Limit(0.0, 1420.0, "the sun gives at most 1,410 W/m2 outside the air"),
    "dhi_w_m2": Limit(0.0, 1000.0, "the brightest overcast sky gives less"),
}
# A reading down to here is the sensor's zero at night, and counts as zero.
_RADIATION_ZERO_W_M2 = -15.0
_OKTA_SKY_HIDDEN = 9.0 / 8.0
_TOLERANCE = 1e-9
# An hour that leaps and leaps back is a slip of a sensor or a pen (judgement).
_LONE_JUMP_K, _NEIGHBOURS_AGREE_K = 15.0, 5.0


def drop_impossible(rows: Rows) -> None:
    """Reports and drops every value outside LIMITS; puts right what is only a manner of reporting, and says so."""
    notes = rows.notes
    _radiation_zero(rows.values)
    if "cloud" in rows.values:
        hidden = np.isclose(rows.values["cloud"], _OKTA_SKY_HIDDEN)
        rows.values["cloud"][hidden] = 1.0
        _count(notes, hidden, "cloud", "9 okta", "the sky is hidden; taken as overcast")
    for name, values in rows.values.items():
        limit = LIMITS[name]
        # No ceiling is infinitely high.
        wrong = ((values < limit.low - _TOLERANCE) | (values > limit.high + _TOLERANCE)) & ~np.isposinf(values)
        if np.any(wrong):
            why = f"impossible, dropped: {limit.low:g} to {limit.high:g} are possible ({limit.why})"
            notes.add_rows(rows.line[wrong], name, rows.as_told(name, wrong), why)
            values[wrong] = np.nan
    humidity = rows.values.get("relative_humidity")
    if humidity is not None:
        wet = humidity > 1.0
        humidity[wet] = 1.0
        _count(notes, wet, "relative_humidity", "above 100 %", "within a sensor's error; taken as saturated")
    _least_visibility(rows)


def drop_lone_jumps(rows: Rows) -> None:
    """Reports and drops an air temperature that stands alone: far from the hours before and after, which agree with each other.

    Rows are hours in order, none twice. A front or a squall may cool the air by 15 K in an hour, but not for one hour only.
    """
    values = rows.values.get("air_temperature_c")
    if values is None or len(values) < 3:
        return
    step = np.diff(rows.start).astype("timedelta64[s]").astype(float)
    between = (step[:-1] == 3600.0) & (step[1:] == 3600.0)
    before, here, after = values[:-2], values[1:-1], values[2:]
    agree = np.abs(before - after) <= _NEIGHBOURS_AGREE_K
    away = np.minimum(np.abs(here - before), np.abs(here - after)) > _LONE_JUMP_K
    wrong = np.concatenate([[False], between & agree & away, [False]])
    if np.any(wrong):
        why = (
            f"dropped: more than {_LONE_JUMP_K:g} K from the hours before and after, which agree within {_NEIGHBOURS_AGREE_K:g} K"
        )
        rows.notes.add_rows(rows.line[wrong], "air_temperature_c", rows.as_told("air_temperature_c", wrong), why)
        values[wrong] = np.nan


def _radiation_zero(values: dict[str, np.ndarray]) -> None:
    for name in ("ghi_w_m2", "dni_w_m2", "dhi_w_m2"):
        if name in values:
            array = values[name]
            array[(array < 0.0) & (array >= _RADIATION_ZERO_W_M2)] = 0.0


def _least_visibility(rows: Rows) -> None:
    """A visibility of zero means less than the file's smallest step: half of its smallest value stands for it.

    A file of zeros alone has no visibility: they are dropped.
    """
    values = rows.values.get("visibility_m")
    if values is None:
        return
    zero = values == 0.0
    if not np.any(values > 0.0):
        _count(rows.notes, zero, "visibility_m", 0.0, "zero in every row that has one: not measured; dropped")
        values[zero] = np.nan
        return
    least_m = 0.5 * float(values[values > 0.0].min())
    values[zero] = least_m
    _count(rows.notes, zero, "visibility_m", 0.0, f"below the smallest step of the file; taken as {least_m:.0f} m")


def farthest_for_unlimited(visibility_m: np.ndarray, codes_m: list[float], notes: Notes) -> None:
    """Codes for unlimited visibility become the farthest that the file (rows,) tells otherwise, or 20 km; in place, noted."""
    unlimited = np.any([np.isclose(visibility_m, code) for code in codes_m], axis=0)
    if np.any(unlimited):
        others = visibility_m[~unlimited & (visibility_m <= LIMITS["visibility_m"].high)]
        farthest_m = float(others.max()) if len(others) else 20_000.0
        visibility_m[unlimited] = farthest_m
        _count(notes, unlimited, "visibility_m", "its code for unlimited", f"taken as {farthest_m:,.0f} m")


def _count(notes: Notes, rows: np.ndarray, name: str, value: object, why: str) -> None:
    if np.any(rows):
        notes.add(None, name, value, f"{why} ({int(np.count_nonzero(rows)):,} rows)")


# A pile this high with next to nothing above it is where the observer or the instrument stops looking: without a cap the
# farthest values are a thin tail (judgement; capped records have 20 to 85 % of their hours there).
_PILE_SHARE = 0.10
_ABOVE_SHARE = 0.05
# A value that stands in so many hours is a step of the scale.
_STEP_SHARE = 0.02
_SAME = 0.01


def visibility_cap_m(visibility_m: np.ndarray) -> float | None:
    """The visibility [m] that means "this or more", found as a pile-up of hours at the far end; None when there is none.

    visibility_m (hours,), NaN where missing. Values within 1 % are one step (16,000 and 16,100 m are both ten miles).
    """
    known = np.sort(visibility_m[np.isfinite(visibility_m)])
    if len(known) == 0:
        return None
    steps, counts = np.unique(known, return_counts=True)
    reported = counts >= _STEP_SHARE * len(known)
    steps, counts = steps[reported], counts[reported]
    if len(steps) == 0:
        return None
    above = len(known) - np.searchsorted(known, steps * (1.0 + _SAME), side="right")
    here = np.array([counts[(steps >= step) & (steps <= step * (1.0 + _SAME))].sum() for step in steps])
    capped = (here >= _PILE_SHARE * len(known)) & (above <= _ABOVE_SHARE * len(known))
    # The lowest step of the pile: everything at or above it is "this or more".
    return float(steps[np.argmax(capped)]) if np.any(capped) else None
