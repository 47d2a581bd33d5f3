"""Comparisons with INVENTED numbers, only to test pictures with: no simulation, never a reference."""

import numpy as np
import xarray as xr

from fencecast.decide.compare.paired import comparison_verdicts
from fencecast.estimate.intervals import verdicts
from show import invented_results

MARGIN = 0.02


def comparison(base=None, change=None, names=("3 mm", "6 mm"), half=0.015) -> xr.Dataset:
    """A comparison of an invented run with itself plus `change`, a difference of Pd (weather, segment)."""
    base = invented_results.yard() if base is None else base
    pd = base["pd"].values
    if change is None:
        at = base["chainage_m"].values
        change = np.broadcast_to(0.35 * np.sin(at / 11.0) ** 3 * (at > 6.0) - 0.5 * (at <= 6.0), pd.shape)
    after = np.clip(pd + change, 0.0, 1.0)
    after = np.where(np.isnan(pd), np.nan, after)
    need, hours = float(base.attrs["requirement_pd"]), base["weather_hours"].values
    both = np.array([pd, after])
    low, high = np.clip(both - 0.03, 0, 1), np.clip(both + 0.03, 0, 1)
    by_cell, difference = ("weather", "segment"), after - pd
    weights = hours / hours.sum() if hours.sum() else np.full(len(hours), np.nan)
    year, lengths = weights @ difference, (base["segment_end_m"] - base["segment_start_m"]).values
    mean = np.array([np.average(row[~np.isnan(row)], weights=lengths[~np.isnan(row)]) if not np.isnan(row).all() else np.nan
                     for row in difference])  # fmt: skip
    data = {
        "pd": (("variant", *by_cell), both),
        "pd_low": (("variant", *by_cell), low),
        "pd_high": (("variant", *by_cell), high),
        "standing": (("variant", *by_cell), verdicts(low, high, need)),
        "miss_share": (("variant", "cause", *by_cell), np.array([base["miss_share"].values] * 2)),
        "pd_difference": (("compared", *by_cell), difference[None]),
        "pd_difference_low": (("compared", *by_cell), difference[None] - half),
        "pd_difference_high": (("compared", *by_cell), difference[None] + half),
        "verdict": (("compared", *by_cell), comparison_verdicts(difference - half, difference + half, MARGIN)[None]),
        "pd_difference_year": (("compared", "segment"), year[None]),
        "pd_difference_year_low": (("compared", "segment"), year[None] - half),
        "pd_difference_year_high": (("compared", "segment"), year[None] + half),
        "verdict_year": (("compared", "segment"), comparison_verdicts(year - half, year + half, MARGIN)[None]),
        "variant_toml": ("variant", np.array([base.attrs["site_toml"]] * 2)),
        "variant_sha256": ("variant", np.array([base.attrs["site_sha256"]] * 2)),
        "shown_lens": ("variant", np.array(["wide", "long"])),
    }
    for end, shift in (("", 0.0), ("_low", -half), ("_high", half)):
        data[f"mean_difference{end}"] = (("compared", "weather"), mean[None] + shift)
        curves = base[f"pd_distance{end}"].values
        data[f"pd_distance{end}"] = (("variant", "weather", "distance"), np.swapaxes(curves, 0, 1))
        data[f"pd_distance_difference{end}"] = (("compared", "weather", "distance"), (curves[:, 1] - curves[:, 0])[None] + shift)
    coordinates = {name: base.coords[name] for name in base.coords if name not in ("camera", "lens")}
    return xr.Dataset(
        data, {"variant": list(names), "compared": list(names[1:]), **coordinates}, {**base.attrs, "margin": MARGIN}
    )


def flat(value: float, base=None, **more) -> xr.Dataset:
    base = invented_results.yard() if base is None else base
    return comparison(base, np.full(base["pd"].shape, value), **more)


LONG_NAMES = ("the layout of the tender, all cameras on lamp posts", "masts at the four corners and one at the bend of the fence")
ALL = {
    "usual": comparison,
    "equal": lambda: flat(0.0, half=0.01),
    "undecided": lambda: flat(0.0, half=0.05),
    "better by little": lambda: flat(0.03),
    "worse everywhere": lambda: flat(-0.6),
    "long names": lambda: comparison(names=LONG_NAMES),
    "large": lambda: comparison(invented_results.large()),
    "twelve classes": lambda: comparison(invented_results.twelve_classes()),
    "one camera": lambda: comparison(invented_results.one_camera()),
    "part without data": lambda: comparison(invented_results.part_without_data()),
    "class without hours": lambda: comparison(invented_results.class_without_hours()),
    "short sections": lambda: comparison(invented_results.short_sections()),
    "US units": lambda: comparison(invented_results.yard(units="us")),
}
