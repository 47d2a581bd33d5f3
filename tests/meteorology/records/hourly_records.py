"""Records for tests of hourly weather: invented days whose weather is known, and the typical year that pvlib carries."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pvlib

from fencecast.meteorology.year import RECORD_FIELDS, Records

# The TMY3 files that pvlib carries: a whole one, and one with many holes.
_DATA = Path(pvlib.__file__).parent / "data"
FULL, HOLES = _DATA / "723170TYA.CSV", _DATA / "703165TY.csv"


def site_on(ground: str, **file):
    """As much of a site as the rules of hours ask for."""
    return SimpleNamespace(site=SimpleNamespace(ground=ground), weather_file=SimpleNamespace(**file) if file else None)


def saturation_hpa(celsius):
    """Vapour pressure at saturation by Bolton (1980), not the package's formula."""
    return 6.112 * np.exp(17.67 * celsius / (celsius + 243.5))


def sun_elevation(time, latitude, longitude, utc_offset_h=0.0):
    """Elevation of the sun [degrees] in the middle of each hour."""
    utc = pd.DatetimeIndex(time + np.timedelta64(1800, "s") - np.timedelta64(int(utc_offset_h * 3600), "s")).tz_localize("UTC")
    return pvlib.solarposition.get_solarposition(utc, latitude, longitude)["elevation"].to_numpy()


def said(records, name: str) -> list[str]:
    """What a reader has noted of one field."""
    return [str(problem) for problem in records.problems if problem.field == name]


def records_of(start: str, values: dict, hours: int, **about) -> Records:
    """Records of so many hours from a date on; fields that are not given are missing, numbers stand for every hour."""
    time = (np.datetime64(start, "h") + np.arange(hours) * np.timedelta64(1, "h")).astype("datetime64[s]")
    given = {name: np.full(hours, np.nan) for name in RECORD_FIELDS}
    given |= {name: np.broadcast_to(np.asarray(value, dtype=float), hours).copy() for name, value in values.items()}
    about = {"latitude": 50.0, "longitude": 0.0, "elevation_m": 0.0, "utc_offset_h": 0.0} | about
    return Records(time=time, values=given, visibility_cap_m=None, weather_codes=None, problems=(), source="invented", **about)


def fair_days(start: str, days: int, mean_c: float, swing_c: float, dew_c: float, wind_m_s, cloud=0.0):
    """The same dry day many times at 50 N, 0 E, warmest at 15:00: records and the sun's elevation."""
    clock = (np.arange(24 * days) + 0.5) % 24
    air = mean_c + swing_c * np.cos(2 * np.pi * (clock - 15) / 24)
    records = records_of(
        start,
        {
            "air_temperature_c": air,
            "relative_humidity": np.minimum(saturation_hpa(dew_c) / saturation_hpa(air), 1.0),
            "wind_m_s": np.tile(wind_m_s, days) if np.ndim(wind_m_s) else wind_m_s,
            "visibility_m": 20_000.0,
            "precipitation_mm_h": 0.0,
            "cloud": cloud,
        },
        24 * days,
    )
    return records, sun_elevation(records.time, 50.0, 0.0)


def june_days(days=20, cloud=0.0):
    """Fair days of June: 10 to 22 C, dew point 9 C, calm by night, 3 m/s by day."""
    wind = 1.5 + 1.5 * np.sin(np.pi * np.clip((np.arange(24) + 0.5 - 6) / 14, 0, 1))
    return fair_days("2013-06-05", days, 16.0, 6.0, 9.0, wind, cloud)


def december_days(days=20, cloud=0.0):
    """Fair days of December: -2.5 to 2.5 C, dew point -4 C, 1.5 m/s."""
    return fair_days("2013-12-05", days, 0.0, 2.5, -4.0, 1.5, cloud)


@cache
def typical_year_frame():
    """The TMY3 file of Greensboro that pvlib ships, as pvlib reads it."""
    path = FULL
    return pvlib.iotools.read_tmy3(path, coerce_year=2001)


def typical_year():
    """That year as records, read apart from the package's reader, and the sun's elevation; a gauge in tenths of a millimetre."""
    frame, about = typical_year_frame()
    visibility = frame["Hvis (m)"].to_numpy(float)
    rain = frame["Lprecip depth (mm)"].to_numpy(float)
    place = {"latitude": about["latitude"], "longitude": about["longitude"], "utc_offset_h": -5.0}
    records = records_of(
        "2001-01-01",
        {
            "air_temperature_c": frame["temp_air"],
            "relative_humidity": frame["relative_humidity"] / 100.0,
            "wind_m_s": frame["wind_speed"],
            "visibility_m": np.where((visibility < 0) | (visibility > 75_000), np.nan, visibility),
            "precipitation_mm_h": np.where(rain < 0, np.nan, 0.1 * rain),
            "cloud": frame["TotCld (tenths)"] / 10.0,
            "ghi_w_m2": frame["ghi"],
            "pressure_hpa": frame["pressure"],
        },
        len(frame),
        elevation_m=about["altitude"],
        **place,
    )
    return records, sun_elevation(records.time, place["latitude"], place["longitude"], place["utc_offset_h"])
