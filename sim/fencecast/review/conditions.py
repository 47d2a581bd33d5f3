"""Is the weather right? Classes that are missing or contradict themselves; gaps, length and place of a record.

Tests: tests/review/test_checks.py, test_records.py.
"""

from __future__ import annotations

import math

import numpy as np

from fencecast.review.asked import Asked
from fencecast.review.finding import NOTE, WARN, Finding, NotAsked
from fencecast.site.schema import Weather

_FOG_M = 1000.0
_LONGEST_GAP_H = 48.0
_EARTH_KM = 6371.0


def conditions(asked: Asked) -> list[Finding]:
    """All checks of this group, in their order."""
    if asked.site.weather_file is None:
        return _missing(asked) + [f for w in asked.site.weather if w.hours_per_year > 0 for f in _class(w)]
    if not asked.weather and asked.year is None:
        ids = ("record-gaps", "record-no-fog", "record-short", "record-far")
        asked.not_asked += [NotAsked(id, "run it without --no-weather") for id in ids]
        return []
    return _record(asked)


def _missing(asked: Asked) -> list[Finding]:
    classes = [w for w in asked.site.weather if w.hours_per_year > 0]
    found = []
    fog = sum(w.fog != "none" or w.visibility_m.middle() < _FOG_M for w in classes)
    rain = sum(w.rain_mm_h.bounds()[1] > 0.0 for w in classes)
    if not fog:
        found.append(Finding("no-fog", WARN, "site", "", 0.0, "classes", 1.0, worse=-1))
    if not rain:
        found.append(Finding("no-rain", WARN, "site", "", 0.0, "classes", 1.0, worse=-1))
    limit = asked.limit("warm-ground-k")
    warmest = max((w.ground_minus_air_k.middle() for w in classes), default=-math.inf)
    if classes and warmest < limit:
        found.append(Finding("no-crossover", WARN, "site", "", warmest, "K", limit, worse=-1))
    return found


def _class(w: Weather) -> list[Finding]:
    """What does not go together in one class, by medians."""
    rain, wet = w.rain_mm_h.middle(), w.wetness.middle()
    found = []
    if rain > 1.0 and (wet < 0.3 or w.front_window.state == "dry"):
        facts = {"wetness": wet, "window": w.front_window.state}
        found.append(Finding("rain-but-dry", WARN, "weather", w.name, rain, "mm/h", 1.0, facts=facts))
    if w.fog != "none" and w.visibility_m.is_fixed:
        facts = {"visibility": w.visibility_m.middle()}
        found.append(Finding("fog-one-value", WARN, "weather", w.name, 1.0, "values", 1.0, facts=facts))
    for what, value, limit, worse in _oddities(w):
        found.append(Finding("odd-class", WARN, "weather", w.name, value, "", limit, worse=worse, facts={"what": what}))
        break
    return found


def _oddities(w: Weather) -> list[tuple[str, float, float, int]]:
    """What is odd, its median, the limit, and whether larger (+1) or smaller (-1) is odder."""
    wind, air = w.wind_m_s.middle(), w.air_temperature_c.middle()
    rows = []
    if w.fog != "none":
        rows.append(("fog with relative humidity", w.relative_humidity.middle(), 0.90, -1))
        rows.append(("fog with visibility, m,", w.visibility_m.middle(), _FOG_M, 1))
    if w.fog == "radiation":
        rows.append(("radiation fog with wind, m/s,", wind, 3.0, 1))
    if w.snow_mm_h.middle() > 0.0:
        rows.append(("snow at air temperature, C,", air, 3.0, 1))
    if wind > 5.0:
        rows.append((f"wind of {wind:.1f} m/s with clutter, K,", w.clutter_k.middle(), 0.1, -2))
    odd = {1: lambda v, x: v > x, -1: lambda v, x: v < x, -2: lambda v, x: v <= x + 1e-9}
    return [(what, value, limit, max(way, -1)) for what, value, limit, way in rows if odd[way](value, limit)]


def _record(asked: Asked) -> list[Finding]:
    from fencecast.meteorology.load import load_year

    site, found = asked.site, []
    year = load_year(site) if asked.year is None else asked.year
    armed, unknown = year.armed, year.armed & ~year.known
    share = float(unknown.sum() / max(armed.sum(), 1))
    longest = _longest_run(unknown, armed)
    if share > asked.limit("unknown-share") or longest > _LONGEST_GAP_H:
        facts = {"longest": longest, "hours": float(unknown.sum())}
        found.append(Finding("record-gaps", WARN, "site", "", share, "", asked.limit("unknown-share"), facts=facts))
    counted, years = year.counted, max(float(year.period_years), 1e-9)
    fog = float((counted & (year.middle["visibility_m"] < _FOG_M)).sum() / years)
    if fog < asked.limit("fog-hours"):
        found.append(Finding("record-no-fog", WARN, "site", "", fog, "hours a year", asked.limit("fog-hours"), worse=-1))
    if years < 2.95:
        severity = WARN if years < 0.9 else NOTE
        found.append(Finding("record-short", severity, "site", "", years, "years", 3.0, worse=-1))
    return found + _far(asked, year.records)


def _longest_run(unknown: np.ndarray, armed: np.ndarray) -> float:
    """Longest run of unknown armed hours [h]; hours that are not armed do not end it, and do not count."""
    longest = run = 0
    for gap, on in zip(unknown.tolist(), armed.tolist()):
        if on:
            run = run + 1 if gap else 0
            longest = max(longest, run)
    return float(longest)


def _far(asked: Asked, records) -> list[Finding]:
    """Where the record comes from against where the site is, when both say so."""
    from fencecast.meteorology.records.reading import read_records

    ground, limit = asked.site.site, asked.limit("record-km")
    own = asked.site.weather_file
    raw = records if own.file_kind == "csv" else read_records(asked.site.weather_path, own.file_kind, own)
    if own.file_kind == "csv" or None in (raw.latitude, raw.longitude, ground.latitude, ground.longitude):
        key = "a record that says its place (EPW, TMY3)" if own.file_kind == "csv" else "[site] latitude and longitude"
        asked.not_asked.append(NotAsked("record-far", key))
        return []
    km = distance_km(ground.latitude, ground.longitude, raw.latitude, raw.longitude)
    if km <= limit:
        return []
    facts = {"latitude": raw.latitude, "longitude": raw.longitude, "hint": _swap(ground, raw, limit)}
    return [Finding("record-far", WARN, "site", "", km, "km", limit, facts=facts)]


def _swap(ground, raw, limit: float) -> str:
    """What typing mistake would bring the site to its record: numbers swapped, or a sign."""
    lat, lon = ground.latitude, ground.longitude
    tries = {
        "latitude and longitude are swapped": (lon, lat),
        "the sign of latitude is wrong": (-lat, lon),
        "the sign of longitude is wrong": (lat, -lon),
        "both signs are wrong": (-lat, -lon),
    }
    for words, (a, b) in tries.items():
        if abs(a) <= 90.0 and distance_km(a, b, raw.latitude, raw.longitude) <= 4.0 * limit:
            return words
    return ""


def distance_km(lat_a: float, lon_a: float, lat_b: float, lon_b: float) -> float:
    """Great-circle distance [km] on a sphere of 6,371 km (good to half a per cent)."""
    a, b, dl = math.radians(lat_a), math.radians(lat_b), math.radians(lon_b - lon_a)
    h = math.sin(0.5 * (b - a)) ** 2 + math.cos(a) * math.cos(b) * math.sin(0.5 * dl) ** 2
    return 2.0 * _EARTH_KM * math.asin(min(1.0, math.sqrt(h)))
