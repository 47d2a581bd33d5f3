"""A tiny study for tests: three small yards, two strategies, two kinds of air; a piece takes a tenth of a second."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path

import numpy as np

from fencecast.decide.study.file import read_study
from fencecast.decide.study.results import study_results
from fencecast.decide.study.strategies import STRATEGIES

TINY = """\
schema = 2
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


def results_of(pd, **changes):
    """Results of invented pieces. pd (amounts, yards, strategies, lenses, weather), NaN where there is no layout; the numbers of
    amounts, yards, strategies (names of the package first, then invented ones) and lenses follow from its shape."""
    pd = np.asarray(pd, dtype=float)
    amounts, yards, strategies, lenses, classes = pd.shape
    raw = tables()
    names = [*STRATEGIES, *(f"own_strategies:number_{k}" for k in range(9))][:strategies]
    kinds = ["wide", *(f"lens {k} of a longer name" for k in range(9))][:lenses]
    study = tiny(strategies=names[:1], yards={**raw["yards"], "count": yards}, **changes)
    weather = study.weather[:classes]
    weather += tuple(
        weather[0].model_copy(update={"name": f"weather number {k}, with rain", "hours_per_year": 10.0 * k})
        for k in range(classes - 2)
    )
    study = replace(
        study,
        strategies=tuple(names),
        lenses=tuple(kinds),
        weather=weather,
        allowances=tuple(4.0 + 2 * k for k in range(amounts)),
    )
    pieces = []
    for y in range(yards):
        for lens in range(lenses):
            for s in range(strategies):
                rows = [_row(pd[a, y, s, lens], 4 + 2 * a + s, study.by == "cost") for a in range(amounts)]
                pieces.append({"fence_m": 120.0, "allowances": rows, "libraries": {"numpy": "2.0"}, "cpu_s": 1.0})
    return study_results(study, pieces, "code")


def _row(pd, cameras: int, priced: bool) -> dict:
    if np.isnan(pd).any():
        return {"no_layout": "it needs at least 12 cameras here"}
    row = {"cameras": cameras, "cost": 1300.0 * cameras if priced else None, "crossings": 5, "looks": 7}
    row |= {name: [40.0] * len(pd) for name in ("weak_m", "undecided_m", "meets_m")}
    return row | {"mean_pd": list(pd), "replicates": [[p] * 8 for p in pd], "weakest_pd": list(pd)}
