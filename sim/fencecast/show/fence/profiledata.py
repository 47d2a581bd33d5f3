"""What `plot_profile` draws: Pd along the fence in one weather class, in the worst one of each place, or over the year."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import xarray as xr

from fencecast.errors import UnknownNameError
from fencecast.estimate.results import Results
from fencecast.findings.titles import year_name
from fencecast.findings.words import first_upper, metres_text
from fencecast.show.fence.data import Fence, fence_of, year_row

WORST, YEAR = "worst", "year"


@dataclass(frozen=True, eq=False)
class ProfileData:
    """Pd with its interval (segments,), NaN where nothing was simulated, and where every segment begins and ends on the walk, the
    sections one after the other (segments,) [m]. weather: as it is written above the picture."""

    title: str
    fence: Fence
    weather: str
    pd: np.ndarray
    low: np.ndarray
    high: np.ndarray
    from_m: np.ndarray
    to_m: np.ndarray


def profile_data(results: Results | xr.Dataset, weather: str = WORST) -> ProfileData:
    """weather: "worst" (the class with the lowest Pd at each place), "year" (classes by their hours), or the name of a class.

    UnknownNameError for a class that is not in the results.
    """
    results = Results.of(results)
    if weather in results.classes:
        row = results.classes.index(weather)
        pd, low, high = (results.at(f"pd{end}", weather=row) for end in ("", "_low", "_high"))
        name = weather
    elif weather in (WORST, YEAR):
        variable = "pd_worst" if weather == WORST else "pd_year"
        pd, low, high = (results.array(f"{variable}{end}", "segment") for end in ("", "_low", "_high"))
        name = "the worst class of each place" if weather == WORST else _year(results)
    else:
        raise UnknownNameError("weather", weather, [*results.classes, WORST, YEAR], "the results")
    fence = fence_of(results)
    begins = np.zeros(len(pd))
    walked = 0.0
    for section in fence.sections:
        begins[section.first : section.stop] = walked
        walked += section.length_m
    return ProfileData(
        _title(name, high, fence), fence, name, pd, low, high, begins + fence.start_m, begins + fence.end_m
    )  # fmt: skip


def _year(results: Results) -> str:
    """`the year, by hours`, or what stands in for it."""
    name = "year" if year_row(results) is None else year_name(results)
    return f"{'the year' if name == 'year' else name}, by hours"


def _title(name: str, high: np.ndarray, fence: Fence) -> str:
    """`Clear night: 42 m of 396 m weak`, by whole intervals as verdicts go."""
    with np.errstate(invalid="ignore"):
        weak = float(np.sum((fence.end_m - fence.start_m)[high < fence.requirement]))
    known = float(np.sum((fence.end_m - fence.start_m)[~np.isnan(high)]))
    said = f"{metres_text(weak, fence.units)} of {metres_text(known, fence.units)}" if weak >= 0.5 else "no metre"
    return f"{first_upper(name.removeprefix('the '))}: {said} weak"
