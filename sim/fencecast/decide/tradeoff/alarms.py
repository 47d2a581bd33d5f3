"""Nuisance alarms a night, setting by setting, and which setting surely has fewer than which, or no more."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from fencecast.decide.compare.nightalarms import DesignAlarms, alarm_difference, alarms_of_design
from fencecast.decide.tradeoff.dominated import ALARM_MARGIN, LEAST_ALARMS
from fencecast.estimate.exposure import exposure_of
from fencecast.estimate.onsite import counted_on_site, notes_of
from fencecast.estimate.options import RunOptions
from fencecast.estimate.simulate import REPLICATES
from fencecast.meteorology.year import Year
from fencecast.site import Site

# Of each scrambling: 16 encounters of every stimulus in every weather class and segment. Alarms a night are sums over many cells,
# whose errors average out.
POINTS = 2


class NightCounter:
    """Counts alarms of one setting after the other: what comes past a site is the same for all, only decisions differ."""

    def __init__(self, site: Site, classes: Sequence, options: RunOptions, year: Year | None, record: Year | None):
        """site: as it is; record: all hours of the weather file where `year` holds those of some classes."""
        self._exposure = exposure_of(site, classes, year, record)
        self._classes, self._options = classes, options
        self._site, self._year, self._record = site, year, record
        self._notes: tuple[str, ...] = ()
        self._as_it_is: DesignAlarms | None = None  # alarms that were counted on site were counted under it

    @property
    def encounters(self) -> int:
        """How many are simulated for a setting, about."""
        return len(self._exposure.bodies) * len(self._classes) * self._exposure.encounters.shape[-1] * POINTS * REPLICATES

    @property
    def notes(self) -> tuple[str, ...]:
        """What of the stimuli could not be used."""
        return (*self._exposure.notes, *self._notes)

    def alarms(self, site: Site, plan, progress: Callable[[int], None] | None = None) -> DesignAlarms:
        """Alarms under one setting, the site as it is first; plan: its packed plan; progress(encounters done so far)."""
        heard = None if progress is None else lambda done, _: progress(done)
        if self._as_it_is is None:
            points = (POINTS, POINTS)
            before, looks = counted_on_site(self._site, self._classes, self._year, self._record, self._options, points)
            self._notes = notes_of(before)
        else:
            before, looks = self._as_it_is.nights, 0
        found = alarms_of_design(site, self._classes, plan, self._exposure, self._options, heard, before, POINTS)
        if self._as_it_is is None:
            self._as_it_is = found
        return replace(found, looks=found.looks + looks)


def alarms_apart(alarms: Sequence[DesignAlarms], confidence: float) -> tuple[np.ndarray, np.ndarray]:
    """Whether setting t has fewer alarms than s beyond what is uncertain, and whether it has none more; each [s, t] bool.

    None more: the whole interval of the change below ALARM_MARGIN, or that of the difference below one alarm in 200 nights. Rates
    are uncertain, but they are the same ones for all settings: what is left of that in a difference is how settings differ in the
    causes that they let through (`decide.compare.nightalarms`).
    """
    count = len(alarms)
    fewer, no_more = np.zeros((count, count), dtype=bool), np.ones((count, count), dtype=bool)
    for s in range(count):
        for t in range(count):
            if s != t:
                found = alarm_difference(alarms[s], alarms[t], confidence)
                fewer[s, t] = found.difference[2] < 0.0
                no_more[s, t] = found.change[2] < ALARM_MARGIN or found.difference[2] < LEAST_ALARMS
    return fewer, no_more
