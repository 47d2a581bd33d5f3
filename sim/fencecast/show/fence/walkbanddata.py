"""What `plot_fence_band` draws: Pd along a fence that walks have calibrated, with what they left open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import xarray as xr

from fencecast.errors import UnknownNameError, UsageError
from fencecast.estimate.intervals import joined
from fencecast.estimate.places import worst_first
from fencecast.estimate.results import Results
from fencecast.findings.calibration import calibration_of, n50_short
from fencecast.findings.words import first_upper, in_class, metres_text, requirement_text
from fencecast.show.fence.data import Fence, fence_of


@dataclass(frozen=True)
class WalkedPlace:
    """Walks at one place: `alarms` of `walks` raised an alarm of the site; low, high: the exact interval of that share."""

    section: str
    chainage_m: float
    alarms: int
    walks: int
    low: float
    high: float


@dataclass(frozen=True, eq=False)
class FenceBandData:
    """Pd in one weather class, per segment (segments,), NaN without data: the mean after the walks; many_low, many_high: the
    interval of the mean over many such places; low, high: of a single one, by which verdicts go; before: Pd of the file
    before the walks, None when nobody gave it. facts: of the calibration."""

    title: str
    fence: Fence
    weather: str
    pd: np.ndarray
    many_low: np.ndarray
    many_high: np.ndarray
    low: np.ndarray
    high: np.ndarray
    before: np.ndarray | None
    walked: tuple[WalkedPlace, ...]
    facts: dict[str, Any]


def fence_band_data(
    results: Results | xr.Dataset,
    before: Results | xr.Dataset | None = None,
    walked: Sequence[WalkedPlace] = (),
    weather: str | None = None,
) -> FenceBandData:
    """weather: name of a class; else the first that was walked, or the worst. before: a run of the file before the walks.

    UsageError for results that no walks have calibrated, or for a run before them that has other segments.
    """
    results = Results.of(results)
    facts = calibration_of(results.attrs)
    if facts is None:
        raise UsageError("these results rest on no walks: run a site file with the [calibration] that fencecast walk fit writes")
    name = _class_of(results, facts, weather)
    row = results.classes.index(name)
    pd, low, high, half = (results.at(key, weather=row) for key in ("pd", "pd_low", "pd_high", "pd_sampling_half"))
    many = joined(pd, *(results.at(f"pd_parameter_{end}", weather=row) for end in ("low", "high")), half)
    old = None if before is None else _before(results, Results.of(before), name)
    fence = fence_of(results)
    title = _title(fence, name, pd, low, high, old, facts)
    return FenceBandData(title, fence, name, pd, *many, low, high, old, tuple(walked), facts)


def _class_of(results: Results, facts: dict[str, Any], weather: str | None) -> str:
    if weather is not None:
        if weather not in results.classes:
            raise UnknownNameError("weather", weather, list(results.classes), "the results")
        return weather
    walked = [name for name in facts["weather"] if name in results.classes]
    return walked[0] if walked else worst_first(results)[0].name


def _before(results: Results, before: Results, name: str) -> np.ndarray:
    same = list(before["segment"].values) == list(results["segment"].values)
    if not same or name not in before.classes:
        raise UsageError(f'the run before the walks has other segments, or no weather class "{name}": run the old file anew')
    return before.at("pd", weather=before.classes.index(name))


def _title(
    fence: Fence, weather: str, pd: np.ndarray, low: np.ndarray, high: np.ndarray, before: np.ndarray | None, facts: dict
) -> str:  # fmt: skip
    """`With N50 2.6, 22 m more fall below 0.90`; without a run before the walks the
    metres of each verdict: `Clear night: 14 m weak, 14 m undecided, 54 m meet`."""
    lengths, need = fence.end_m - fence.start_m, requirement_text(fence.requirement)

    def metres(where: np.ndarray) -> float:
        return float(np.sum(lengths[where]))

    if before is not None:
        start = f"With {n50_short(facts)},"
        more = metres(pd < fence.requirement) - metres(before < fence.requirement)
        if abs(more) < 0.5:
            return f"{start} as many metres as before fall below {need} {in_class(weather)}"
        words = f"{metres_text(abs(more), fence.units)} {'more' if more > 0 else 'fewer'}"
        return f"{start} {words} fall below {need} {in_class(weather)}"
    # By verdict, so that no metre is counted twice.
    weak, meets = high < fence.requirement, low >= fence.requirement
    parts = (("weak", weak), ("undecided", (low < fence.requirement) & ~weak), ("meet", meets))
    said = [f"{metres_text(metres(where), fence.units)} {word}" for word, where in parts if metres(where) >= 0.5]
    return f"{first_upper(weather)}: {', '.join(said)}" if said else f"{first_upper(weather)}: no data"
