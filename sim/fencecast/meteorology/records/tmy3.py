"""TMY3 files through pvlib, with their missing-value codes.

Fields, units and codes: Wilcox and Marion 2008, "Users Manual for TMY3 Data Sets", NREL/TP-581-43156.
"""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np

from fencecast.meteorology.records.limits import farthest_for_unlimited
from fencecast.meteorology.records.presentweather import wmo_code_mm_h
from fencecast.meteorology.records.rows import Notes, Rows, numbers_of
from fencecast.meteorology.records.texts import not_this_kind, text_of
from fencecast.meteorology.records.typical import NO_CEILING, typical_rows

_HEADER_LINES = 2
_MISSING = -9900.0
_UNLIMITED_M = 77_777.0
# Name in the records: column (as pvlib names it), column of its source, unit, factor to the unit of the name.
_FIELDS = {
    "air_temperature_c": ("temp_air", "Dry-bulb source", "C", 1.0),
    "dew_point_c": ("temp_dew", "Dew-point source", "C", 1.0),
    "relative_humidity": ("relative_humidity", "RHum source", "%", 0.01),
    "pressure_hpa": ("pressure", "Pressure source", "mbar", 1.0),
    "ghi_w_m2": ("ghi", "GHI source", "Wh/m2", 1.0),
    "dni_w_m2": ("dni", "DNI source", "Wh/m2", 1.0),
    "dhi_w_m2": ("dhi", "DHI source", "Wh/m2", 1.0),
    "wind_m_s": ("wind_speed", "Wspd source", "m/s", 1.0),
    "cloud": ("TotCld (tenths)", "TotCld source", "tenths", 0.1),
    "visibility_m": ("Hvis (m)", "Hvis source", "m", 1.0),
    "ceiling_m": ("CeilHgt (m)", "CeilHgt source", "m", 1.0),
    "precipitation_mm_h": ("Lprecip depth (mm)", "Lprecip source", "mm", 1.0),
}
_TOTAL_HOURS = "Lprecip quantity (hr)"
# Two digits of WMO table 4677: fog (45), haze (05) and snow (71) go with the visibility and the cold that they have there.
_CODES = "PresWth (METAR code)"


def read_tmy3_rows(path: Path) -> Rows:
    """The rows of a TMY3 file. Times 01:00 to 24:00 end their hour. InputError when it is no TMY3 file."""
    import pandas as pd
    from pvlib.iotools import read_tmy3

    text = text_of(path)
    try:
        data, meta = read_tmy3(io.StringIO(text), map_variables=True)
        day = pd.to_datetime(data["Date (MM/DD/YYYY)"], format="%m/%d/%Y").to_numpy().astype("datetime64[s]")
        ends = data["Time (HH:MM)"].str.split(":", expand=True).astype(np.int64)
        needed = [data[name] for column, source, *_ in _FIELDS.values() for name in (column, source)]
    except (ValueError, KeyError, IndexError, TypeError, AttributeError, pd.errors.ParserError) as error:
        raise not_this_kind(path, "a TMY3 file (a line of place, a line of headings, one row an hour)", error) from None
    del needed
    # Not pvlib's index: it moves 29 February to 1 March, where hours are already. A time is the end of its hour.
    seconds = ends[0].to_numpy() * 3600 + ends[1].to_numpy() * 60
    start = day + (-(-seconds // 3600) - 1) * np.timedelta64(3600, "s")
    filled = [number for number, each in enumerate(text.splitlines(), start=1) if each.strip()][_HEADER_LINES:]
    line = np.array(filled, dtype=np.int64)
    notes, values, as_written = Notes(), {}, {}
    for name, (column, source, unit, factor) in _FIELDS.items():
        numbers = numbers_of(data[column].astype(str).to_numpy(), line, name, notes)
        missing = (numbers == _MISSING) | (data[source].astype(str).str.strip() == "?").to_numpy()
        numbers[missing] = np.nan
        if np.any(missing):
            count = int(np.count_nonzero(missing))
            notes.add(None, name, f'{_MISSING:g}, or source "?"', f"stands for missing ({count:,} rows)")
        if name == "ceiling_m":
            numbers[np.isin(numbers, NO_CEILING)] = np.inf
        values[name], as_written[name] = numbers * factor, (numbers, unit)
    farthest_for_unlimited(values["visibility_m"], [_UNLIMITED_M], notes)
    gathered = (_TOTAL_HOURS, data[_TOTAL_HOURS].astype(str).to_numpy())
    return typical_rows(path, line, start, meta, values, as_written, gathered, _weather_codes(data), wmo_code_mm_h, notes)


def _weather_codes(data) -> np.ndarray | None:
    """Two digits an hour, with the zero that was lost in front; "" where missing. None when the file has none."""
    if _CODES not in data:
        return None
    texts = [str(each).strip().removesuffix(".0") for each in data[_CODES]]
    missing = (data["PresWth source"].astype(str).str.strip() == "?").to_numpy()
    good = [each.isdigit() and len(each) <= 2 and not gone for each, gone in zip(texts, missing)]
    return np.array([each.zfill(2) if ok else "" for each, ok in zip(texts, good)], dtype="U2")
