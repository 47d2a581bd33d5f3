"""Invented trade-offs: the variables of tradeoff.nc from typed numbers, for words and pictures."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import xarray as xr

from cli.command_line import TINY
from fencecast.cautions import CAUTION, NOT_MODELLED
from fencecast.decide.compare.nightalarms import DesignAlarms
from fencecast.decide.tradeoff.run import nights_variables
from fencecast.estimate.nuisance import NightCounts
from fencecast.site import parse_site

# Family, value, metres, alarms a night, Pd of the weakest tenth.
ROWS = (
    ("as it is", "", 122.0, 5.07, 0.41),
    ("threshold", "3.5", 122.0, 5.60, 0.48),
    ("threshold", "8", 50.0, 4.10, 0.26),
    ("threshold", "12", 0.0, 3.14, 0.09),
    ("N50", "1.5", 122.0, 6.17, 0.49),
    ("N50", "3", 104.0, 3.32, 0.27),
    ("confirm", "2/3", 122.0, 7.67, 0.41),
    ("confirm", "5/8", 122.0, 3.23, 0.42),
    ("least size", "0.45", 106.0, 3.32, 0.38),
    ("least size", "0.6", 48.0, 2.49, 0.33),
    ("offset", "3", 108.0, 5.05, 0.39),
)
OWN = {"threshold": "5", "N50": "2", "confirm": "3/5", "least size": "0", "offset": "0", "dwell": "0"}


def nights(per_night: float, spread: float = 0.3, causes=(1.0, 0.0), scatter=0.0) -> DesignAlarms:
    """Alarms of a setting, uncertain by the factors of its causes: cats, and insects that have a factor of their own.

    causes: their shares; scatter: standard error that encounters leave, as a share.
    """
    draws = spread * np.linspace(-1.5, 1.5, 33)
    counts = SimpleNamespace(causes=("cat", "insect"), year=per_night * np.array(causes))
    nothing = np.zeros(0)
    each = 1.0 + scatter * np.sqrt(8.0) * np.array([1, -1, 1, -1, 1, -1, 1, -1]) * np.sqrt(7.0 / 8.0)
    return DesignAlarms(
        nights=NightCounts(
            counts=counts, factors=np.exp(np.stack([draws, -draws], axis=1)), by_class=nothing, distribution=nothing, bad=nothing,
            year=(per_night, 0.6 * per_night, 2.0 * per_night), bad_year=(round(3.0 * per_night),) * 3, soaks=(), change=nothing,
        ),
        by_scrambling=per_night * each[None, :], share=np.ones(1), looks=0,
    )  # fmt: skip


def invented(rows=ROWS, fence_m=163.0, error_m=2.0, asked=True, ceiling=np.nan, unreached_m=20.0, hidden_m=3.0) -> xr.Dataset:
    """A trade-off with two classes and one segment for each 1 m."""
    family, value, metres, alarms, tenth = (np.array(column) for column in zip(*rows))
    count, segments = len(rows), round(fence_m)
    names = np.array([f"{a} {b}".strip() for a, b in zip(family, value)])
    half = np.where(np.eye(count, dtype=bool), 0.0, error_m)
    site = parse_site(TINY)
    by = "setting"
    variables = {
        "family": (by, family),
        "value": (by, value),
        "base_value": (by, np.array([OWN.get(each, "") for each in family])),
        "meets_m": (by, metres),
        "meets_low_m": (by, np.maximum(metres - 8.0, 0.0)),
        "meets_high_m": (by, metres + 5.0),
        "meets_class_m": ((by, "weather"), np.stack([metres, np.minimum(metres + 20.0, fence_m)], axis=1)),
        "change_m": (by, metres - metres[0]),
        "change_low_m": (by, metres - metres[0] - half[0]),
        "change_high_m": (by, metres - metres[0] + half[0]),
        "weakest_tenth": (by, tenth),
        "weakest": (by, np.zeros(count)),
        "unreached": ("segment", (np.arange(segments) < unreached_m).astype(np.int8)),
        "out_of_view": ("segment", (np.arange(segments) < hidden_m).astype(np.int8)),
        "noise_alarms_per_day": (by, np.full(count, 1e-30)),
        **nights_variables([nights(each) for each in alarms] if asked else [], metres, half, names, 0.95, fence_m),
    }
    coordinates = {
        "setting": names,
        "weather": np.array(["clear night", "thick fog"]),
        "weather_hours": ("weather", np.array([3000.0, 200.0])),
        "segment": np.array([f"A {k}-{k + 1} m" for k in range(segments)]),
        "segment_start_m": ("segment", np.arange(segments, dtype=float)),
        "segment_end_m": ("segment", np.arange(segments, dtype=float) + 1.0),
    }
    results = xr.Dataset(variables, coordinates)
    results.attrs = {
        "title": "Invented yard", "schema": 2, "tradeoff_schema": 1, "version": "0.1.0", "seed": 1, "confidence": 0.95,
        "requirement_pd": 0.90, "units": "si", "site_toml": TINY, "site_sha256": site.sha256, "crossings_per_cell": 128,
        "crossings_total": 100_000, "looks_total": 2_000_000, "seconds": 12.0, "fence_m": fence_m, "left_out": "",
        "nuisance_asked": int(asked), "nuisance_ceiling": ceiling, "nuisance_bad_night_ceiling": np.nan, "caution": CAUTION,
        "not_modelled": "\n".join(NOT_MODELLED),
    }  # fmt: skip
    return results
