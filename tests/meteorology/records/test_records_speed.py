"""Ten station-years in under 5 s of one processor, and heavy libraries only when a weather file is read."""

import subprocess
import sys
import time

from fencecast.meteorology.records.reading import read_records
from meteorology.records.epwmaker import write_epw
from meteorology.records.hourly_records import FULL, HOLES
from meteorology.records.nycweather import BY_CLOCK, FILE, IN_UTC, STATIONS, options


def test_ten_station_years_in_under_five_seconds(tmp_path):
    made = write_epw(tmp_path / "made.epw")
    jobs = [(made, "epw", None), (made, "epw", None), (FULL, "tmy3", None), (HOLES, "tmy3", None)]
    jobs += [(FILE, "csv", options(station, when)) for station in STATIONS for when in (IN_UTC, BY_CLOCK)]
    assert len(jobs) == 10
    read_records(made, "epw")  # libraries are imported once
    before = time.thread_time()
    for job in jobs:
        read_records(*job)
    assert time.thread_time() - before < 5.0


def test_no_heavy_library_before_a_file_is_read():
    """pandas and pvlib cost a second: not for `fencecast --help`, and not for importing any module of the weather."""
    text = """
import importlib, pkgutil, sys
import fencecast, fencecast.cli, fencecast.site, fencecast.meteorology
for module in pkgutil.iter_modules(fencecast.meteorology.__path__):
    importlib.import_module("fencecast.meteorology." + module.name)
assert not {"pandas", "pvlib"} & set(sys.modules), sorted({"pandas", "pvlib"} & set(sys.modules))
"""
    subprocess.run([sys.executable, "-c", text], check=True)
