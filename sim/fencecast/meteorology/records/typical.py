"""What EPW and TMY3 files have in common: a place, a gauge with its period, codes of weather, heights without a ceiling."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

import numpy as np

from fencecast.meteorology.records.rainfall import period_of, silent_gauge, tenths_for_millimetres
from fencecast.meteorology.records.rows import Notes, Rows, numbers_of

# "No ceiling" and "only thin high cloud": no cloud layer that hides the sky.
NO_CEILING = (77_777.0, 88_888.0)
_HOURS_MISSING = 99.0


def typical_rows(
    path: Path,
    line: np.ndarray,
    start: np.ndarray,
    place: Mapping,
    values: dict[str, np.ndarray],
    as_written: dict[str, tuple[np.ndarray, str]],
    gathered: tuple[str, np.ndarray],
    codes: np.ndarray | None,
    code_mm_h: Callable[[str], float],
    notes: Notes,
) -> Rows:
    """The rows of a file from its columns, each (rows,), as `Rows` has them; depths of rain are judged, and changed in `values`.

    place: what pvlib reads from the head of either kind (TZ, latitude, longitude, altitude). gathered: name and texts of the
    column that tells over how many hours a depth was gathered. code_mm_h: what falls by a code of present weather [mm/h].
    """
    name, texts = gathered
    depth = values["precipitation_mm_h"]
    total_hours = period_of(depth, numbers_of(texts, line, name, notes), _HOURS_MISSING, notes)
    tenths_for_millimetres(depth, notes)
    by_code = None
    if codes is not None:
        by_code = np.array([code_mm_h(code) for code in codes])
        silent_gauge(depth, by_code > 0.0, notes)
    return Rows(
        file=str(path),
        line=line,
        start=start,
        utc_offset_h=place["TZ"],
        values=values,
        as_written=as_written,
        codes=codes,
        by_code_mm_h=by_code,
        total_hours=total_hours,
        latitude=place["latitude"],
        longitude=place["longitude"],
        elevation_m=place["altitude"],
        notes=notes,
    )
