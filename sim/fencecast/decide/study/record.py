"""Hourly weather in a study: one record for every yard, read where the study file lies and carried by every piece as plain data.

All yards have the same ground, place and armed hours, so that every yard, strategy and lens meets the same hours, sorted into the
same classes. A crossing happens in one hour of its class, with that hour's joint values; all layouts of a yard meet the same hour
at the same crossing. The mean over all armed hours is that of the classes by their hours, with nothing left out.
"""

from __future__ import annotations

import base64
import hashlib
import os
import tempfile
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from fencecast.errors import InputError, UsageError
from fencecast.meteorology.load import classes_of, hand_in, handed_in, load_year, year_of_records
from fencecast.meteorology.year import HourClass
from fencecast.site import Site, load_site

# What a study without weather of its own may take from its site files.
FROM_YARDS = ("weather_file", "armed", "site")


@dataclass(frozen=True)
class Record:
    """A weather file as pieces carry it, and what was found in it.

    name: its path as typed; packed: its bytes, compressed, as text; classes: those that its armed hours make; source,
    period_years: as `Year` has them.
    """

    name: str
    sha256: str
    packed: str
    classes: tuple[HourClass, ...]
    source: str
    period_years: float

    def as_inputs(self) -> dict[str, str]:
        """What a piece depends on, as plain values."""
        return {"name": self.name, "sha256": self.sha256, "packed": self.packed}


def read_record(site: Site, folder: Path) -> Record:
    """The record that a yard of the study names, its path from the study's folder. InputError when it cannot be used."""
    site = _in_folder(site, folder)
    year = load_year(site)
    content = (folder / site.weather_file.path).read_bytes()
    packed = base64.b64encode(zlib.compress(content, 9)).decode("ascii")
    sha256 = hashlib.sha256(content).hexdigest()
    return Record(site.weather_file.path, sha256, packed, classes_of(site, year), year.records.source, year.period_years)


def with_hours(site: Site, record: Mapping[str, str]) -> Site:
    """The yard of a piece with its hours known in this process: whatever asks for them there reads no file.

    record: `Record.as_inputs`. The hours are worked out once in a process.
    """
    site = _in_folder(site, Path(f"record {record['sha256']}"))
    if not handed_in(site):
        content = zlib.decompress(base64.b64decode(record["packed"]))
        if hashlib.sha256(content).hexdigest() != record["sha256"]:
            raise UsageError(f"the record {record['name']} came to this worker damaged; start the study again")
        from fencecast.meteorology.records.reading import read_records

        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / Path(record["name"]).name
            path.write_bytes(content)
            records = read_records(path, site.weather_file.file_kind, site.weather_file)
        hand_in(site, year_of_records(site, replace(records, source=record["name"])))
    return site


def tables_of_yards(paths: Sequence[str], folder: Path) -> dict[str, dict]:
    """[weather_file], [armed] and [site] that all site files of a study share; nothing where none has a record.

    UsageError when they differ: yards whose hours differ are not compared with each other.
    """
    sites = [load_site(folder / path) for path in paths]
    if all(site.weather_file is None for site in sites):
        return {}
    first = sites[0]
    for path, site in zip(paths, sites):
        differs = _difference(first, site)
        if differs:
            raise UsageError(
                f"{path}: {differs} than in {paths[0]}, and all yards of a study meet the same hours; type one [weather_file], "
                "[armed] and [site] in the study file, which then count for every yard"
            )
    tables = {name: _given(getattr(first, name)) for name in FROM_YARDS}
    tables["weather_file"]["path"] = Path(os.path.relpath(first.weather_path, folder)).as_posix()
    return {name: table for name, table in tables.items() if table}


def _difference(first: Site, other: Site) -> str:
    """What of another yard's hours is not the first one's; '' when all is."""
    if (first.weather_file is None) != (other.weather_file is None):
        return "[weather_file] is there in one only, otherwise"
    files = [site.weather_file.model_copy(update={"path": "same"}) for site in (first, other)]
    if files[0] != files[1] or _bytes(first) != _bytes(other):
        return "[weather_file] is another record, or is read otherwise,"
    if first.armed != other.armed:
        return "[armed] is other"
    return "" if first.site == other.site else "[site] is other"


def _bytes(site: Site) -> bytes:
    try:
        return site.weather_path.read_bytes()
    except OSError as error:
        raise InputError([f"this file cannot be read: {error.strerror or error}"], str(site.weather_path)) from None


def _given(table) -> dict:
    return {key: getattr(table, key) for key in table.model_fields_set if getattr(table, key) is not None}


def _in_folder(site: Site, folder: Path) -> Site:
    """The site as if its file lay in a folder."""
    made = site.replace()
    made._folder = folder
    return made
