"""Nuisance alarms a night: of each cause in each weather class, by camera and segment, and night by recorded night.

Rates (`exposure`) times probabilities (`encounters`, `burstalarms`); cheap, so that many settings of `[decision]` can be tried on
one exposure. Tests: tests/estimate/test_nuisance.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fencecast.estimate.burstalarms import burst_alarms
from fencecast.estimate.exposure import Exposure
from fencecast.site.stimuli import SENSOR_NOISE, BodyStimulus

if TYPE_CHECKING:
    from fencecast.estimate.encounters import Encounters


@dataclass(frozen=True)
class AlarmCounts:
    """causes: names, the last is sensor noise. Arrays of alarms a night at central rates:

    by_class (causes, classes), as if the whole night were of the class; by_class_se (causes, classes): what a finite number of
    encounters leaves open; by_camera (causes, cameras, classes): each camera alone; by_segment (causes, classes, segments): of
    bodies; encounters, p, p_half (causes, classes, segments): encounters that take place, alarm probability of one and the half
    width of its interval, NaN for causes that are no bodies. nights (nights, causes): every sort of night, with weight (nights,):
    recorded ones, or one a class. sizes (causes,): of the negative binomial.
    """

    causes: tuple[str, ...]
    by_class: np.ndarray
    by_class_se: np.ndarray
    by_camera: np.ndarray
    by_segment: np.ndarray
    encounters: np.ndarray
    p: np.ndarray
    p_half: np.ndarray
    nights: np.ndarray
    weight: np.ndarray
    sizes: np.ndarray

    @property
    def year(self) -> np.ndarray:
        """Mean over the year's nights of each cause, (causes,)."""
        return self.weight @ self.nights / self.weight.sum()

    def scaled(self, factors: np.ndarray) -> AlarmCounts:
        """The same with the rate of every cause times a factor, (causes,)."""
        column = factors[:, None]
        return AlarmCounts(
            self.causes, self.by_class * column, self.by_class_se * column, self.by_camera * column[..., None],
            self.by_segment * column[..., None], self.encounters * column[..., None], self.p, self.p_half,
            self.nights * factors, self.weight, self.sizes,
        )  # fmt: skip


def alarm_counts(site, exposure: Exposure, encounters: Encounters | None, noise_a_day: np.ndarray) -> AlarmCounts:
    """Alarms a night of every cause.

    encounters: with the bodies of the exposure, in its classes (None when it has none); noise_a_day (cameras,): alarms of each
    camera in a day from sensor noise alone. Decisions are those of `site`.
    """
    stimuli, classes, cameras = exposure.stimuli, len(exposure.classes), len(site.camera)
    causes, segments = len(stimuli) + 1, exposure.encounters.shape[-1]
    by_class, by_class_se = np.zeros((causes, classes)), np.zeros((causes, classes))
    by_camera, by_segment = np.zeros((causes, cameras, classes)), np.zeros((causes, classes, segments))
    met, p, p_half = (np.full((causes, classes, segments), np.nan) for _ in range(3))
    draws_of: list[list[np.ndarray]] = []  # by cause and class, alarms a night in each draw
    for k, stimulus in enumerate(stimuli):
        if isinstance(stimulus, BodyStimulus):
            row = encounters.names.index(stimulus.name)
            about = np.array([d.weight @ a for d, a in zip(exposure.draws, exposure.activity[k])])
            met[k] = about[:, None] * exposure.encounters[k]
            share = encounters.active_share[row]
            # Of an encounter that takes place; one that never does leaves no probability.
            per = np.divide(1.0, share, out=np.zeros(classes), where=share > 0.0)[:, None]
            comes = (share > 0.0)[:, None] & (encounters.crossings[row] > 0)
            chance = encounters.p[row] * per
            p[k] = np.where(comes, chance, np.nan)
            p_half[k] = np.where(comes, encounters.half_width(site.requirement.confidence)[row] * per, np.nan)
            by_segment[k] = met[k] * chance
            by_class_se[k] = np.sqrt(np.sum((met[k] * encounters.p_se[row] * per) ** 2, axis=-1))
            by_camera[k] = np.einsum("ws,wsc->cw", met[k] * per, encounters.p_camera[row])
            full = chance @ exposure.encounters[k]
            draws_of.append([a * each for a, each in zip(exposure.activity[k], full)])
            by_class[k] = about * full
        else:
            of_cameras = burst_alarms(site, exposure, k)
            by_camera[k] = np.array([each @ d.weight for each, d in zip(of_cameras, exposure.draws)]).T
            draws_of.append([each.sum(axis=0) for each in of_cameras])
            by_class[k] = by_camera[k].sum(axis=0)
    heard = {mark for rule in site.rule for mark in rule.cameras}
    noise = np.where([camera.mark in heard for camera in site.camera], noise_a_day, 0.0) * exposure.night_h / 24.0
    by_camera[-1], by_class[-1] = noise[:, None], noise.sum()
    if exposure.hours is None:
        nights, weight = by_class.T, exposure.share
    else:
        nights, weight = _recorded_nights(exposure, draws_of, noise.sum())
    sizes = np.array([*(each.bursts for each in stimuli), np.inf])
    names = (*(each.name for each in stimuli), SENSOR_NOISE)
    return AlarmCounts(names, by_class, by_class_se, by_camera, by_segment, met, p, p_half, nights, weight, sizes)


def _recorded_nights(exposure: Exposure, draws_of: list[list[np.ndarray]], noise: float) -> tuple[np.ndarray, np.ndarray]:
    """Alarms of every recorded night, each adding up its own hours, (nights, causes), and its weight (nights,).

    A rate a night is spread over `night_h` armed hours, so a long night has more. Hours of a night that do not count (not known,
    of a class that was left out) are like the mean of those that do; such a night weighs less in proportion.
    """
    hours, causes = exposure.hours, len(draws_of)
    count = len(hours.clock)
    hour = np.concatenate([d.hour for d in exposure.draws])
    # Weights of draws add up to 1 in a class: back to the weight that every hour has in it.
    weight = np.concatenate([d.weight for d in exposure.draws])
    of_hour = np.bincount(hour, weight, count)
    rate = np.zeros((count, causes))
    for k, parts in enumerate(draws_of):
        sums = np.bincount(hour, weight * np.concatenate(parts), count)
        rate[:, k] = np.divide(sums, of_hour, out=np.zeros(count), where=of_hour > 0.0)
    nights = int(hours.night.max()) + 1
    counted, armed = hours.counted & hours.armed, hours.armed
    counted_h = np.bincount(hours.night[counted], minlength=nights).astype(float)
    armed_h = np.bincount(hours.night[armed], minlength=nights).astype(float)
    there = counted_h > 0
    of_night = np.array([np.bincount(hours.night[counted], rate[counted, k], nights) for k in range(causes)]).reshape(causes, -1)
    length = armed_h[there] / exposure.night_h
    means = of_night[:, there] / counted_h[there] * length
    return np.column_stack([*means, noise * length]), counted_h[there] / armed_h[there]
