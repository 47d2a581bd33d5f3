"""`fencecast from-map` as a function: its options with the same names and defaults."""

from __future__ import annotations

from collections.abc import Sequence
from os import PathLike, fspath

from fencecast.errors import UsageError
from fencecast.maps.asked import Asked
from fencecast.maps.frommap import Made, make_site


def from_map(
    *drawings: str | PathLike[str],
    update: str | PathLike[str] | None = None,
    words: Sequence[str] = (),
    near: tuple[float, float] | None = None,
    origin: tuple[float, float] | None = None,
    grid_north: float | None = None,
    elevation: float | None = None,
    crs: str = "",
    unit: str | None = None,
    swap: bool = False,
    opened: Sequence[str] = (),
    leave_out: bool = False,
    weather_file: str | PathLike[str] | None = None,
    no_location: bool = False,
    output: str = "site.toml",
) -> Made:
    """The site that drawings of a map program show: GeoJSON, KML, KMZ, GPX or DXF files. Nothing is written.

    Arguments: drawings, paths; update, a site file that is brought up to date: what was not drawn stays; words, "WORD=KIND", what
    a kind, layer or name with that text stands for; near, where the site should be (latitude, longitude); origin, where x = 0,
    y = 0 lies; grid_north, bearing of +y [degrees]; elevation, of the ground [m]; crs, "EPSG:n" or "site" (metres); unit, of a
    DXF drawing; swap, latitude stands first; opened, names of fences that are meant to be open; leave_out, leave out what has
    problems; weather_file, an hourly record; no_location, no place in the text; output, where the text will lie, from which the
    weather file's path is written.
    Returns what was made: `text` of the site file, `site`, and a `report` of what was taken, left out, mended and defaulted.
    Raises InputError with every problem of every drawing, UsageError for options that do not fit.
    """
    if update is not None and no_location:
        raise UsageError("--update and --no-location do not go together: the older file says where it lies; take its [map] out")
    asked = Asked(
        update=None if update is None else fspath(update),
        words=words,
        near=near,
        origin=origin,
        grid_north_deg=grid_north,
        elevation_m=elevation,
        crs=crs,
        unit=unit or "",
        swap=swap,
        opened=opened,
        leave_out=leave_out,
        weather_file=None if weather_file is None else fspath(weather_file),
        no_location=no_location,
        output=output,
    )
    return make_site([fspath(path) for path in drawings], asked)
