"""Alarms that were counted on the finished site ([[soak]]), for a run of some of its weather or without some of its cameras.

A count is one of the whole site in all weather. Where less is simulated, what the count made of a rate is worked out on the whole
first and then holds for the part; compared with the part itself, the missing alarms would count as a rate that is too high.
Tests: tests/estimate/test_on_site.py.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fencecast.estimate.encountered import encounters_of
from fencecast.estimate.exposure import exposure_of
from fencecast.estimate.nuisance import NightCounts, night_counts
from fencecast.estimate.options import RunOptions
from fencecast.meteorology.load import classes_of
from fencecast.meteorology.year import HourClass, Year
from fencecast.site.schema import Weather
from fencecast.site.without import counted_site


def counted_on_site(
    site,
    classes: Sequence[Weather | HourClass],
    year: Year | None,
    record: Year | None,
    options: RunOptions,
    points: Sequence[int] = (),
) -> tuple[NightCounts | None, int]:
    """Alarms of the counted causes on the site as it was when they were counted, for `night_counts` of a part of it, and the
    looks drawn for them. None when nothing was counted, or when these classes are all of the site as it was.

    year: the hours that the classes are made of; record: all of the weather file's; both None without one. points: of the
    encounters with counted bodies, as `simulate_encounters` takes them.
    """
    whole = counted_site(site)
    causes = list(dict.fromkeys(each.cause for each in whole.soak))
    available = classes_of(whole, record)
    if not (causes and whole.camera) or (whole is site and year is record and _all_there(classes, available)):
        return None, 0
    exposure = exposure_of(whole, available, record).only(causes)
    encounters = encounters_of(whole, exposure, available, None, options, points)
    # Sensor noise is not a cause that is counted.
    found = night_counts(whole, exposure, encounters, np.zeros(len(whole.camera)))
    return found, encounters.looks if encounters else 0


def notes_of(counted_under: NightCounts | None) -> tuple[str, ...]:
    """That a count was of more than what is simulated, a line for each cause."""
    if counted_under is None:
        return ()
    said = "its log was made on the site as it was, in all weather; what it made of the rate there is used here,"
    return tuple(f"{each.cause}: {said} {each.change:.2g} times what was assumed" for each in counted_under.narrowed)


def _all_there(classes: Sequence[Weather | HourClass], available: Sequence[Weather | HourClass]) -> bool:
    """Whether every class that has hours is among these."""
    names = {each.name for each in classes}
    return all(each.name in names or each.hours_per_year <= 0.0 for each in available)
