"""A tiny study for tests: three small yards, two strategies, two kinds of air; a piece takes a tenth of a second."""

from __future__ import annotations

import tomllib
from pathlib import Path

from fencecast.decide.studyfile import read_study

TINY = """\
schema = 1
title = "Tiny study"
seed = 5
strategies = ["chain", "corner pairs"]
crossings = 16

[equal]
by = "cameras"
number = [10.0, 14.0]

[yards]
count = 3
seed = 2
side_m = [30.0, 40.0]
shape = ["rectangle"]
buildings = [1, 1]
clutter = [0, 1]

[site]
ground = "gravel"
segment_length_m = 10.0

[sensors.core]
columns = 160
rows = 120
pitch_um = 17.0
netd_mk = 50.0
price = 1000.0

[lenses.wide]
focal_length_mm = 4.0
f_number = 1.0
price = 300.0

[[weather]]
name = "clear night"
hours_per_year = 3000
air_temperature_c = 5.0
relative_humidity = 0.75
ground_minus_air_k = -2.0

[[weather]]
name = "fog"
hours_per_year = 200
air_temperature_c = 7.0
relative_humidity = 0.99
ground_minus_air_k = 0.3
fog = "radiation"
visibility_m = 60.0
sky = "overcast"
"""


def tables() -> dict:
    """The tiny study as tables."""
    return tomllib.loads(TINY)


def tiny(folder: Path = Path("."), **changes):
    """The tiny study, with top-level keys changed (None leaves one out)."""
    raw = {**tables(), **changes}
    return read_study({key: value for key, value in raw.items() if value is not None}, "study.toml", folder)
