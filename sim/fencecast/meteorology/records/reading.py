"""Weather files in, records out: one entry for every kind of file."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from pathlib import Path

from fencecast.meteorology.records.clock import records_of
from fencecast.meteorology.year import Records
from fencecast.site.hourly import WeatherFile


def read_records(path: str | Path, kind: str, options: WeatherFile | None = None) -> Records:
    """The hourly records of a weather file.

    kind: "epw", "tmy3" or "csv"; a CSV file needs `options` with its column map and its time. Every value that was not taken as
    it stands is in `problems`. InputError when the file cannot be read, or is no hourly record.
    """
    path = Path(path)
    records = _records(path, kind, options)
    return replace(records, sha256=hashlib.sha256(path.read_bytes()).hexdigest())


def _records(path: Path, kind: str, options: WeatherFile | None) -> Records:
    if kind == "epw":
        from fencecast.meteorology.records.epw import read_epw_rows

        return records_of(read_epw_rows(path))
    if kind == "tmy3":
        from fencecast.meteorology.records.tmy3 import read_tmy3_rows

        return records_of(read_tmy3_rows(path))
    from fencecast.meteorology.records.csvfile import read_csv_rows

    return records_of(read_csv_rows(path, options))


def read_site_records(site) -> Records:
    """The records that a site's `[weather_file]` names, at the site's own place where it gives one."""
    options = site.weather_file
    return at_the_site(site, read_records(site.weather_path, options.file_kind, options))


def at_the_site(site, records: Records) -> Records:
    """Records at the site's own place where it gives one."""
    given = {name: getattr(site.site, name) for name in ("latitude", "longitude")}
    return replace(records, **{name: value for name, value in given.items() if value is not None})
