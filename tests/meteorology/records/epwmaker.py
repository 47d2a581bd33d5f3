"""EPW files for tests, made from nothing: invented air over one year of hours, fields in the order of the EPW data dictionary."""

from __future__ import annotations

import math
from datetime import datetime, timedelta

HEADER = """LOCATION,Nowhere,-,NUL,invented,000000,{latitude},{longitude},{zone},{elevation}
DESIGN CONDITIONS,0
TYPICAL/EXTREME PERIODS,0
GROUND TEMPERATURES,0
HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0
COMMENTS 1,invented for tests
COMMENTS 2,
DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31
"""
FIRST_LINE = 9


def plain_hour(k: int, start: datetime) -> dict:
    """The fields of hour k, as numbers and texts; EPW hours are named by their end, 1 to 24."""
    day = math.cos(2.0 * math.pi * (start.hour - 14) / 24.0)
    air = 9.0 - 9.0 * math.cos(2.0 * math.pi * k / 8760.0) + 4.0 * day
    sun = max(0.0, day) * 400.0
    return {
        "year": start.year,
        "month": start.month,
        "day": start.day,
        "hour": start.hour + 1,
        "minute": 60,
        "flags": "A7" * 20,
        "air": round(air, 1),
        "dew": round(air - 3.0, 1),
        "humidity": 60 + k % 37,
        "pressure": 101_000 + k % 700,
        "etr": 0,
        "etrn": 0,
        "infrared": 300,
        "ghi": round(sun),
        "dni": round(0.6 * sun),
        "dhi": round(0.4 * sun),
        "ill_g": 0,
        "ill_n": 0,
        "ill_d": 0,
        "zenith": 0,
        "wind_direction": 240,
        "wind": round(0.1 * (k % 90), 1),
        "cloud": k % 11,
        "opaque": k % 8,
        "visibility": round(0.4 + 0.01 * (k * 7919 % 3000), 2),
        "ceiling": 300 + k % 5000,
        "observed": 0,
        "codes": "999999999",
        "water": 14,
        "aerosol": 0.1,
        "snow_cm": 0,
        "snow_days": 88,
        "albedo": 0.2,
        "rain": 0.0,
        "rain_hours": 1,
    }


FIELDS = list(plain_hour(0, datetime(2001, 1, 1)))


def write_epw(path, changes=None, starts=None, left_out=(), place=None):
    """An EPW file at `path`. changes: {hour index: {field: value}}; starts: hours (a plain 2001 when None); left_out: indices."""
    starts = [datetime(2001, 1, 1) + timedelta(hours=k) for k in range(8760)] if starts is None else starts
    place = {"latitude": 50.0, "longitude": 8.0, "zone": 1.0, "elevation": 120.0, **(place or {})}
    lines = []
    for k, start in enumerate(starts):
        if k not in left_out:
            row = {**plain_hour(k, start), **(changes or {}).get(k, {})}
            lines.append(",".join(str(row[name]) for name in FIELDS))
    path.write_text(HEADER.format(**place) + "\n".join(lines) + "\n", encoding="utf-8")
    return path
