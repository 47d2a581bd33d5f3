"""A ceiling on nuisance alarms a night, as a limit of the search: linear, so that the search stays as it is.

What a set of cameras raises together is at most the sum of what each raises alone; and with cameras that are there already, at
most what those raise together plus each other one alone. A set is admitted while the smaller of both sums is within the ceiling.
The proposal is then run in full, where cameras that see the same cat count once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fencecast.decide.layout import changed
from fencecast.decide.place.candidates import NEW, Candidate
from fencecast.errors import UsageError
from fencecast.estimate.encountered import encounters_of
from fencecast.estimate.exposure import exposure_of
from fencecast.estimate.nuisance import NightCounts, night_counts
from fencecast.estimate.onsite import counted_on_site
from fencecast.estimate.options import RunOptions
from fencecast.lensranges import noise_alarms
from fencecast.meteorology.year import Year
from fencecast.site import Site
from fencecast.site.without import counted_site

# Of each scrambling: 16 encounters of every stimulus in every weather class and segment. Sums over a fence hardly scatter, and
# there are hundreds of cameras.
POINTS = 2


@dataclass(frozen=True)
class Ceiling:
    """most: alarms a night, mean over the year; alone (candidates,): of each candidate alone; base: those that are there at the
    start, and present: what they raise together."""

    most: float
    alone: np.ndarray
    base: frozenset[int]
    present: float

    def at_most(self, subset: Sequence[int]) -> float:
        """What a set raises at most."""
        every = float(sum(self.alone[c] for c in subset))
        return min(every, self.present + float(sum(self.alone[c] for c in subset if c not in self.base)))

    def admits(self, subset: Sequence[int]) -> bool:
        return self.at_most(subset) <= self.most + 1e-9


def check_ceiling(site: Site, ceiling: float | None) -> float | None:
    """The ceiling that a search keeps: what is asked for, else the requirement's. UsageError when it cannot be counted."""
    if ceiling is None:
        return site.requirement.nuisance_per_night
    if not 0.0 < ceiling < np.inf:
        raise UsageError(f"--ceiling {ceiling:g} is not allowed: alarms a night, above 0; type for instance 5")
    if not site.stimulus:
        raise UsageError(
            'a ceiling needs stimuli to count: at least one table [[stimulus]] in the site file, such as kind = "cat"; or leave '
            "--ceiling out"
        )
    return ceiling


def ceiling_of(
    site: Site,
    chosen: Sequence[Candidate],
    base: Sequence[int],
    classes: Sequence,
    options: RunOptions,
    year: Year | None,
    most: float,
) -> Ceiling:
    """The ceiling over candidates. year: the hours of the weather file, None without one.

    Raises UsageError when the cameras that are there raise more alarms together than the ceiling allows.
    """
    now, change = 0.0, {}
    if base or (site.camera and counted_site(site).soak):
        found = _counted(site, classes, options, year)
        change = dict(zip(found.counts.causes, found.change.tolist()))
    if base:
        now = found.year[0]
        if now > most:
            raise UsageError(
                f"the cameras that are there raise {now:.2g} nuisance alarms a night already, more than the ceiling of "
                f"{most:g}: a higher --ceiling, --from-scratch, or other settings (fencecast tradeoff)"
            )
    counts = _counted(_with_all(site, chosen), classes, options, year).counts
    factor = np.array([change.get(cause, 1.0) for cause in counts.causes])
    share = np.array([max(each.hours_per_year, 0.0) for each in classes])
    share = share / share.sum() if share.sum() > 0.0 else np.full(len(classes), 1.0 / len(classes))
    alone = np.einsum("k,kcw,w->c", factor, counts.by_camera, share)
    return Ceiling(most, alone, frozenset(base), now)


def _counted(site: Site, classes: Sequence, options: RunOptions, year: Year | None) -> NightCounts:
    exposure = exposure_of(site, classes, year)
    encounters = encounters_of(site, exposure, classes, None, options, (POINTS, POINTS))
    noise = np.array([noise_alarms(site, camera) for camera in site.camera])
    under, _ = counted_on_site(site, classes, year, year, options, (POINTS, POINTS))
    return night_counts(site, exposure, encounters, noise, under)


def _with_all(site: Site, chosen: Sequence[Candidate]) -> Site:
    """The site with every candidate at once, under marks of their own. Each serves the rules that it would serve; a stimulus of
    named cameras comes before every form of them. Counts on site were not made with these cameras: they are left out."""
    marks = [f"candidate {k}" for k in range(len(chosen))]

    def of(names: Sequence[str], new: bool) -> tuple[str, ...]:
        return tuple(m for m, c in zip(marks, chosen) if (new and c.group == NEW) or (c.group != NEW and c.camera.mark in names))

    rules, stimuli = [], []
    for rule in site.rule:
        keys = {key: getattr(rule, key) for key in rule.model_fields_set if key != "cameras" and getattr(rule, key) is not None}
        heard = of(rule.cameras, new=True)
        if heard:
            rules.append({**keys, "cameras": heard})
    for stimulus in site.stimulus:
        keys = {key: getattr(stimulus, key) for key in stimulus.model_fields_set if getattr(stimulus, key) not in (None, ())}
        if stimulus.cameras:  # where none of them is left, its row stays and counts nothing
            named = of(stimulus.cameras, new=False)
            keys |= {"cameras": named} if named else {"per_night": 0.0}
            keys = {key: value for key, value in keys.items() if named or key != "cameras"}
        stimuli.append(keys)
    cameras = tuple(changed(c.camera, mark=mark) for mark, c in zip(marks, chosen))
    return site.replace(camera=cameras, variant=(), rule=rules, stimulus=stimuli, soak=())
