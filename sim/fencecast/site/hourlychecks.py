"""Checks across the keys of `[weather_file]` and `[armed]`, and between them and the rest of a site."""

from __future__ import annotations

from fencecast.errors import Problem
from fencecast.site.hourly import LOCAL_STANDARD
from fencecast.site.reading import Draft, Entry

_FOR_CSV = ("columns", "time", "only", "missing")
_NEEDED_FIELDS = {"air_temperature": "degC", "wind": "m/s", "visibility": "km"}


def check_hourly(draft: Draft) -> None:
    """Adds a problem to `draft` for everything about hourly weather that does not fit together."""
    entry, armed = draft.single["weather_file"], draft.single["armed"]
    if armed is not None:
        _armed(draft, armed, with_file=entry is not None or "weather_file" in draft.meant)
    if entry is None:
        return
    if draft.rows.get("weather"):
        allowed = "a record makes its own classes; leave out these tables, or [weather_file]"
        draft.refuse("[[weather]]", draft.names("weather")[0], allowed, fault="cannot stand beside [weather_file]")
    if entry.table.kind is None and not entry.has("kind", "columns", "path"):
        return
    if entry.table.file_kind == "csv":
        _csv(draft, entry)
    else:
        _not_csv(draft, entry)


def _armed(draft: Draft, armed: Entry, with_file: bool) -> None:
    ground = draft.single["site"]
    placed = ground is not None and {"latitude", "longitude"} <= ground.given
    if armed.given and not with_file and not placed:
        allowed = (
            "only with [weather_file], or with latitude and longitude of [site], for the sun in `fencecast check`: "
            "tables [[weather]] say their hours a year themselves; leave it out"
        )
        draft.refuse(armed.where, sorted(armed.given), allowed, fault="has keys that do nothing")
    if "time_zone" in armed.given and "hours" not in armed.given and armed.has("time_zone"):
        allowed = "only with hours, the schedule that it belongs to; leave it out, or give the hours"
        draft.refuse(f"{armed.where} time_zone", armed.table.time_zone, allowed, 'hours = ["18:00-06:00"]')


def _not_csv(draft: Draft, entry: Entry) -> None:
    kind = entry.table.file_kind
    for key in _FOR_CSV:
        if key in entry.given and entry.has(key):
            allowed = f"only with a CSV file ({kind.upper()} files say it themselves); leave it out, or name the kind"
            draft.refuse(f"{entry.where} {key}", getattr(entry.table, key), allowed, 'kind = "csv"')
    if "utc_offset_h" in entry.given and entry.has("utc_offset_h"):
        allowed = f"only with a CSV file ({kind.upper()} files say it themselves); leave it out"
        draft.refuse(f"{entry.where} utc_offset_h", entry.table.utc_offset_h, allowed)


def _csv(draft: Draft, entry: Entry) -> None:
    table, where = entry.table, entry.where
    if "columns" not in entry.given:
        allowed = "a CSV file needs the map from fields to its columns"
        example = 'columns = { air_temperature = { column = "temp", unit = "degC" }, ... }'
        draft.refuse(f"{where} columns", Problem.MISSING, allowed, example)
    elif entry.has("columns"):
        _fields(draft, where, table.columns)
    if "time" not in entry.given:
        allowed = "a CSV file needs the column of its time"
        draft.refuse(f"{where} time", Problem.MISSING, allowed, 'time = { column = "time", zone = "local standard" }')
    elif entry.has("time") and "utc_offset_h" not in entry.given and table.time["zone"] in ("UTC", LOCAL_STANDARD):
        allowed = "hours from UTC to the station's local standard time (winter), which the sun's position needs"
        draft.refuse(f"{where} utc_offset_h", Problem.MISSING, allowed, "utc_offset_h = 1.0")
    site = draft.single["site"]
    for key, example in (("latitude", 54.0), ("longitude", 8.0)):
        if site is not None and key not in site.given and draft.single.get("map") is None:
            allowed = "degrees, which the sun's position needs: a CSV file does not say where it was recorded"
            draft.refuse(f"{site.where} {key}", Problem.MISSING, allowed, f"{key} = {example!r}")


def _fields(draft: Draft, where: str, columns: dict) -> None:
    for name, unit in _NEEDED_FIELDS.items():
        if name not in columns:
            allowed = "without it an hour says too little"
            draft.refuse(
                f"{where} columns {name}", Problem.MISSING, allowed, f'{name} = {{ column = "{name}", unit = "{unit}" }}'
            )
    if "relative_humidity" not in columns and "dew_point" not in columns:
        allowed = "without it, or dew_point, an hour says too little"
        example = 'relative_humidity = { column = "humidity", unit = "percent" }'
        draft.refuse(f"{where} columns relative_humidity", Problem.MISSING, allowed, example)
    if "precipitation" in columns and ("rain" in columns or "snow" in columns):
        allowed = "either precipitation (rain and snow in one column), or rain and snow; leave one out"
        draft.refuse(f"{where} columns precipitation", columns["precipitation"], allowed)
