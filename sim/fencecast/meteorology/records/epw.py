"""EPW files through pvlib, with the missing-value codes that pvlib leaves in the numbers.

Fields, units and codes: EnergyPlus, Auxiliary Programs, "EnergyPlus Weather File (EPW) Data Dictionary".
"""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np

from fencecast.meteorology.records.epwhead import HEADER, KIND, check_head
from fencecast.meteorology.records.limits import farthest_for_unlimited
from fencecast.meteorology.records.presentweather import epw_code_mm_h
from fencecast.meteorology.records.rows import Notes, Rows, numbers_of
from fencecast.meteorology.records.texts import not_this_kind, text_of
from fencecast.meteorology.records.typical import NO_CEILING, typical_rows

# Name in the records: column of pvlib, unit, factor to the unit of the name, and the code from which on a number means "missing".
_FIELDS = {
    "air_temperature_c": ("temp_air", "C", 1.0, 99.9),
    "dew_point_c": ("temp_dew", "C", 1.0, 99.9),
    "relative_humidity": ("relative_humidity", "%", 0.01, 999.0),
    "pressure_hpa": ("atmospheric_pressure", "Pa", 0.01, 999_999.0),
    "ghi_w_m2": ("ghi", "Wh/m2", 1.0, 9999.0),
    "dni_w_m2": ("dni", "Wh/m2", 1.0, 9999.0),
    "dhi_w_m2": ("dhi", "Wh/m2", 1.0, 9999.0),
    "wind_m_s": ("wind_speed", "m/s", 1.0, 999.0),
    "cloud": ("total_sky_cover", "tenths", 0.1, 99.0),
    "visibility_m": ("visibility", "km", 1000.0, 9999.0),
    "ceiling_m": ("ceiling_height", "m", 1.0, 99_999.0),
    "snow_depth_m": ("snow_depth", "cm", 0.01, 999.0),
    "precipitation_mm_h": ("liquid_precipitation_depth", "mm", 1.0, 999.0),
}
_TOTAL_HOURS = "liquid_precipitation_quantity"
# Unlimited visibility: 7777 tenths of a kilometre in the files that these were made from, and 7777.
_UNLIMITED_KM = (777.7, 7777.0)
# Present weather is nine digits, one for each kind, 9 for none. A spreadsheet drops zeros in front; more than three (thunder,
# rain and drizzle at once) were never there.
_CODE_DIGITS, _MOST_LOST = 9, 3


def read_epw_rows(path: Path) -> Rows:
    """The rows of an EPW file. Hours 1 to 24 end at their number: hour 1 starts at 0:00. InputError when it is no EPW file."""
    import pandas as pd
    from pvlib.iotools import read_epw

    # Blank lines count for nobody; a library that skips eight lines would count them.
    lines = text_of(path).replace("\r\n", "\n").replace("\r", "\n").split("\n")
    filled = [(number, each) for number, each in enumerate(lines, start=1) if each.strip()]
    check_head(path, filled)
    try:
        data, meta = read_epw(io.StringIO("\n".join(each for _, each in filled) + "\n"))
    except (ValueError, KeyError, IndexError, TypeError, pd.errors.ParserError) as error:
        raise not_this_kind(path, KIND, error) from None
    filled = filled[len(HEADER) :]
    line = np.array([number for number, _ in filled], dtype=np.int64)
    notes, values, as_written = Notes(), {}, {}
    for name, (column, unit, factor, missing_from) in _FIELDS.items():
        numbers = numbers_of(data[column].astype(str).to_numpy(), line, name, notes)
        if name == "ceiling_m":
            numbers[np.isin(numbers, NO_CEILING)] = np.inf
        missing = (numbers >= missing_from) & ~np.isposinf(numbers)
        numbers[missing] = np.nan
        _count_missing(notes, name, missing, f"{missing_from:g} {unit} or more")
        values[name], as_written[name] = numbers * factor, (numbers, unit)
    farthest_for_unlimited(values["visibility_m"], [1000.0 * each for each in _UNLIMITED_KM], notes)
    _opaque_where_total_is_missing(data, line, notes, values)
    day = pd.to_datetime(data[["year", "month", "day"]]).to_numpy().astype("datetime64[s]")
    start = day + (data["hour"].to_numpy(dtype=np.int64) - 1) * np.timedelta64(3600, "s")
    gathered = (_TOTAL_HOURS, data[_TOTAL_HOURS].astype(str).to_numpy())
    codes = _weather_codes([each for _, each in filled], line, notes)
    return typical_rows(path, line, start, meta, values, as_written, gathered, codes, epw_code_mm_h, notes)


def _count_missing(notes: Notes, name: str, missing: np.ndarray, mark: str) -> None:
    if np.any(missing):
        notes.add(None, name, mark, f"stands for missing ({int(np.count_nonzero(missing)):,} rows)")


def _opaque_where_total_is_missing(data, line: np.ndarray, notes: Notes, values: dict[str, np.ndarray]) -> None:
    opaque = numbers_of(data["opaque_sky_cover"].astype(str).to_numpy(), line, "cloud", notes)
    use = np.isnan(values["cloud"]) & (opaque < 99.0)
    values["cloud"][use] = 0.1 * opaque[use]
    if np.any(use):
        notes.add(None, "cloud", "total cover missing", f"opaque cover stands for it ({int(np.count_nonzero(use)):,} rows)")


def _weather_codes(lines: list[str], line: np.ndarray, notes: Notes) -> np.ndarray:
    """Nine digits an hour, with the zeros that were lost in front; "" where no observation was made."""
    codes, lost = [], []
    for number, each in zip(line, lines):
        parts = each.split(",")
        code = parts[27].strip().strip('"') if len(parts) > 27 else ""
        made = len(parts) > 27 and parts[26].strip().strip('"') == "0"
        good = code.isdigit() and _CODE_DIGITS - _MOST_LOST <= len(code) <= _CODE_DIGITS
        if made and good and len(code) < _CODE_DIGITS:
            lost.append(number)
        elif made and not good:
            notes.add(number, "weather_code", code, "is no code of nine digits; taken as missing")
        codes.append(code.zfill(_CODE_DIGITS) if made and good else "")
    if lost:
        notes.add(None, "weather_code", f"{len(lost):,} rows, the first in line {lost[0]}", "zeros lost in front were put back")
    return np.array(codes, dtype="U9")
