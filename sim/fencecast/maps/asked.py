"""What is asked of `from-map`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Asked:
    """The options of `from-map`, as typed. near, origin: latitude and longitude."""

    update: str | None = None
    words: Sequence[str] = ()
    near: tuple[float, float] | None = None
    origin: tuple[float, float] | None = None
    grid_north_deg: float | None = None
    elevation_m: float | None = None
    crs: str = ""
    unit: str = ""
    swap: bool = False
    opened: Sequence[str] = ()
    leave_out: bool = False
    weather_file: str | None = None
    no_location: bool = False
    output: str = "site.toml"
