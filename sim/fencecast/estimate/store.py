"""Results files: NetCDF-4, written whole or not at all, opened with xarray alone."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import xarray as xr

from fencecast.errors import UsageError
from fencecast.estimate.results import check_schema

_NEEDED = ("pd", "pd_low", "pd_high", "verdict", "miss_share")


def save_results(results: xr.Dataset, path: str | os.PathLike) -> None:
    """Write a results Dataset as NetCDF-4 (h5netcdf), numbers compressed without loss.

    The file appears under its name only when it is complete.
    """
    path = Path(path)
    part = path.with_name(path.name + ".part")
    encoding = {
        name: {"zlib": True, "complevel": 4} for name, v in results.data_vars.items() if np.issubdtype(v.dtype, np.number)
    }
    try:
        results.to_netcdf(part, engine="h5netcdf", encoding=encoding)
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)


def open_results(path: str | os.PathLike) -> xr.Dataset:
    """Read a results file whole into memory (and close it). Raises UsageError when it is not one."""
    path = Path(path)
    if not path.is_file():
        what = "is a folder" if path.is_dir() else "does not exist"
        wanted = "a results file that `fencecast run` wrote is wanted; type for instance yard-results/results.nc"
        raise UsageError(f"{path} {what}: {wanted}")
    try:
        with xr.open_dataset(path, engine="h5netcdf") as opened:
            results = opened.load()
    except (OSError, ValueError) as error:
        raise UsageError(f"{path} cannot be read as a results file: {error}") from None
    if "study_toml" in results.attrs:
        return results
    if "tradeoff_schema" in results.attrs:
        check_schema(results, f"the results in {path}")
        return results
    missing = [name for name in _NEEDED if name not in results] + [a for a in ("site_toml", "schema") if a not in results.attrs]
    if missing:
        raise UsageError(
            f"{path} is not a results file of `fencecast run`, `compare`, `tradeoff` or `study`: it has no {', '.join(missing)}"
        )
    check_schema(results, f"the results in {path}")
    return results
