"""Alarms a night that are nobody's, setting by setting, and how sure one setting has fewer than another."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from fencecast.estimate.exposure import exposure_of
from fencecast.estimate.nuisance import NightCounts, night_counts
from fencecast.estimate.onsite import counted_on_site, notes_of
from fencecast.estimate.options import RunOptions
from fencecast.estimate.simulate import REPLICATES
from fencecast.lensranges import noise_alarms
from fencecast.meteorology.year import Year
from fencecast.site import Site

# Of each scrambling: 16 encounters of every stimulus in every weather class and segment. Alarms a night are sums over many cells,
# whose errors average out.
POINTS = 2


@dataclass(frozen=True)
class Nights:
    """Nuisance alarms of one setting.

    year, low, high: mean of a night over the year with its interval [1/night]; bad_night: one night in twenty has so many or
    more; causes: mean of a night by stimulus; se: what encounters alone leave open of `year`; by_draw (draws,): `year` under
    draws of the uncertain rates that are the same for every setting.
    """

    year: float
    low: float
    high: float
    bad_night: int
    causes: Mapping[str, float]
    se: float
    by_draw: np.ndarray


def ratio_half(nights: Sequence[Nights], confidence: float) -> np.ndarray:
    """Half width of the interval of ln(alarms of t / alarms of s), (settings, settings).

    Rates are uncertain by a factor, but by the same one for all settings: what is left of that in a ratio is how settings differ
    in the causes that they let through. Encounters are the same too, yet their error is added as if they were not: too wide
    rather than too narrow.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        logs = np.log([each.by_draw for each in nights])
        own = np.array([each.se / each.year if each.year > 0.0 else np.inf for each in nights]) ** 2
        spread = np.array([np.var(logs - logs[s], axis=1) for s in range(len(nights))])
    half = ndtri(0.5 + 0.5 * confidence) * np.sqrt(np.nan_to_num(spread + own[:, None] + own[None, :], nan=np.inf))
    np.fill_diagonal(half, 0.0)
    return half


class NightCounter:
    """Counts alarms of one setting after the other: what comes past a site is the same for all, only decisions differ."""

    def __init__(self, site: Site, classes: Sequence, options: RunOptions, year: Year | None, record: Year | None):
        """site: as it is; record: all hours of the weather file where `year` holds those of some classes."""
        self._exposure = exposure_of(site, classes, year, record)
        self._classes, self._options = classes, options
        self._whole = (site, classes, year, record, options, (POINTS, POINTS))
        self._notes: tuple[str, ...] = ()
        self._as_it_is: NightCounts | None = None  # alarms that were counted on site were counted under it
        self.looks = 0

    @property
    def encounters(self) -> int:
        """How many are simulated for a setting, about."""
        return len(self._exposure.bodies) * len(self._classes) * self._exposure.encounters.shape[-1] * POINTS * REPLICATES

    @property
    def notes(self) -> tuple[str, ...]:
        """What of the stimuli could not be used."""
        return (*self._exposure.notes, *self._notes)

    def nights(self, site: Site, plan, progress: Callable[[int], None] | None = None) -> Nights:
        """Alarms under one setting, the site as it is first; plan: its packed plan; progress(encounters done so far)."""
        encounters = None
        if self._exposure.bodies:
            # Late: a site without bodies never compiles their loop.
            from fencecast.estimate.encounters import simulate_encounters

            encounters = simulate_encounters(
                site, self._exposure.bodies, self._options.seed, self._classes, plan, POINTS, POINTS,
                threads=self._options.threads, progress=None if progress is None else lambda done, _: progress(done),
            )  # fmt: skip
            self.looks += encounters.looks
        noise = np.array([noise_alarms(site, camera) for camera in site.camera])
        if self._as_it_is is None:
            self._as_it_is, looks = counted_on_site(*self._whole)
            self.looks, self._notes = self.looks + looks, notes_of(self._as_it_is)
        found = night_counts(site, self._exposure, encounters, noise, self._as_it_is)
        if self._as_it_is is None:
            self._as_it_is = found
        counts, (year, low, high) = found.counts, found.year
        by_class = np.sqrt(np.sum(counts.by_class_se**2, axis=0))
        return Nights(
            year=year,
            low=low,
            high=high,
            bad_night=found.bad_year[0],
            causes=dict(zip(counts.causes, counts.year.tolist())),
            se=float(np.sqrt(np.sum((self._exposure.share * by_class) ** 2))),
            by_draw=found.factors @ counts.year,
        )
