"""What comes past a site, whatever its cameras make of it: encounters and events a night, by class of weather and by hour.

It depends on the site's stimuli, fence and weather, and of `[decision]` on `clutter_factor` alone: made once, it serves every
setting that is tried.
Tests: tests/estimate/test_exposure.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from fencecast.estimate.nights import NIGHTS_A_YEAR, RATE_DRAWS, lognormal_factors, rate_sigma, uniform_draws
from fencecast.estimate.sight import hidden_by, hiders_of, views_of
from fencecast.estimate.weatherdraws import ClassDraws, RecordedHours, class_draws, recorded_hours
from fencecast.meteorology.year import HourClass, Year
from fencecast.physics.encounters import ways_a_night
from fencecast.site.geometry import cut_segments
from fencecast.site.schema import Weather
from fencecast.site.stimuli import BodyStimulus, BurstStimulus, resolved
from fencecast.site.stimuluskinds import (
    HEAVY_RAIN_MM_H,
    SUN_CLOUD_SHARE,
    SUN_PER_W_M2,
    WIND_MOST,
    WIND_PER_M_S,
    WIND_STARTS_M_S,
)

UNSEEN = "no camera that a rule listens to has it in its picture"  # of a stimulus, behind its name

Stimulus = BodyStimulus | BurstStimulus
# A fence this near [m] to the end of a road still shares its ways, which are as long each side: judgement, no source.
NEAR_ROAD_M = 20.0


@dataclass(frozen=True)
class Exposure:
    """stimuli: all of the site, in its file's order. classes: names; share (classes,): of the hours of a year, adding up to 1.

    draws: of the weather, by class; activity: by stimulus and class, (draws,): the rate over its full value. encounters (stimuli,
    segments): ways of a body a night at full activity; NaN rows for bursts. heard (stimuli, cameras) [bool]: whose events of a
    burst can raise an alarm. factors (RATE_DRAWS, stimuli): what each rate may be off by. hours: of the record, None without one.
    night_h: armed hours of a night; nights_a_year: nights with armed hours. notes: what of a stimulus could not be used.
    """

    stimuli: tuple[Stimulus, ...]
    classes: tuple[str, ...]
    share: np.ndarray
    draws: tuple[ClassDraws, ...]
    activity: tuple[tuple[np.ndarray, ...], ...]
    encounters: np.ndarray
    heard: np.ndarray
    factors: np.ndarray
    hours: RecordedHours | None
    night_h: float
    nights_a_year: float
    notes: tuple[str, ...]

    @property
    def bodies(self) -> tuple[BodyStimulus, ...]:
        """The stimuli that encounters are simulated with."""
        return tuple(each for each in self.stimuli if isinstance(each, BodyStimulus))

    def only(self, names: Sequence[str]) -> Exposure:
        """The same with these stimuli alone, in the site's order."""
        kept = [k for k, each in enumerate(self.stimuli) if each.name in names]
        return replace(
            self,
            stimuli=tuple(self.stimuli[k] for k in kept),
            activity=tuple(self.activity[k] for k in kept),
            encounters=self.encounters[kept],
            heard=self.heard[kept],
            factors=self.factors[:, kept],
        )


def exposure_of(site, classes: Sequence[Weather | HourClass], year: Year | None = None, record: Year | None = None) -> Exposure:
    """What comes past a site in these classes of weather.

    year: the hours that the classes are made of, None for described ones; record: all hours of the weather file when `year` is
    only those of some classes or of a condition (`year` when None): they say how long a night is.
    """
    stimuli = resolved(site)
    draws = class_draws(site, classes)
    hours, nights_a_year = None, NIGHTS_A_YEAR
    armed_h = float(sum(each.hours_per_year for each in (site.weather or classes)))
    if year is not None:
        counted = np.zeros(len(year.records.time), dtype=bool)
        counted[np.concatenate([each.hour for each in draws])] = True
        hours = recorded_hours(site, year if record is None else record, counted)
        span = year.period_years
        armed_h, nights_a_year = np.count_nonzero(hours.armed) / span, len(np.unique(hours.night[hours.armed])) / span
    weight = np.array([each.hours_per_year for each in classes], dtype=float)
    notes: list[str] = []
    if weight.sum() <= 0.0:
        notes.append("none of these weather classes has hours in the year: they count alike")
        weight = np.ones(len(weight))
    views, hiders = views_of(site), hiders_of(site)
    return Exposure(
        stimuli=stimuli,
        classes=tuple(each.name for each in classes),
        share=weight / weight.sum(),
        draws=draws,
        activity=tuple(tuple(_activity(each, d, hours) for d in draws) for each in stimuli),
        encounters=np.array([_encounters(site, each) for each in stimuli]),
        heard=np.array([_heard(site, each, views, hiders, notes) for each in stimuli]).reshape(len(stimuli), len(site.camera)),
        factors=rate_factors(stimuli),
        hours=hours,
        night_h=armed_h / nights_a_year,
        nights_a_year=nights_a_year,
        notes=(*notes, *(note for each in stimuli for note in _unused(each, hours))),
    )


def rate_factors(stimuli: Sequence[Stimulus]) -> np.ndarray:
    """What the rate of each stimulus may be off by, (RATE_DRAWS, stimuli), fixed draws: its own distribution over its median, or
    a lognormal of [nuisance] `uncertainty` either way at 95 %."""
    # The second part of a rate (density, then length) has draws of its own, beside those of the first: a stimulus more leaves
    # both where they are.
    u = uniform_draws([name for each in stimuli for name in (each.name, f"{each.name}, second part")])
    columns = []
    for k, each in enumerate(stimuli):
        factor = np.ones(RATE_DRAWS)
        if not each.rate.has_spread:
            factor = lognormal_factors(u[:, 2 * k], rate_sigma(each.rate_uncertainty))
        for part, column in zip(each.rate.parts, (2 * k, 2 * k + 1)):
            if not part.is_fixed and part.middle() > 0.0:
                factor = factor * np.array([part.quantile(p) for p in u[:, column]]) / part.middle()
        columns.append(factor)
    return np.array(columns).reshape(len(stimuli), RATE_DRAWS).T


def wind_share(wind_m_s: np.ndarray) -> np.ndarray:
    """Rate of what moves in the wind over its given value: (wind - 6) / 6, from 0 to 3. Judgement, no source."""
    return np.clip((wind_m_s - WIND_STARTS_M_S.value) / WIND_PER_M_S.value, 0.0, WIND_MOST.value)


def sun_share(solar_w_m2: np.ndarray, cloud: np.ndarray) -> np.ndarray:
    """Rate of patches of sun over its given value: sun / 800 W/m2 while 0.2 to 0.8 of the sky is cloud. Judgement, no source."""
    low, high = SUN_CLOUD_SHARE.value
    return np.where((cloud >= low) & (cloud <= high), np.maximum(solar_w_m2, 0.0) / SUN_PER_W_M2.value, 0.0)


def _activity(stimulus: Stimulus, draws: ClassDraws, hours: RecordedHours | None) -> np.ndarray:
    """The rate of a stimulus over its full value in each draw, (draws,)."""
    about = np.ones(len(draws.weight))
    for name, (low, high) in stimulus.active.items():
        about *= (draws.values[name] >= low) & (draws.values[name] <= high)
    if isinstance(stimulus, BodyStimulus):
        about *= np.where(draws.values["rain_mm_h"] >= HEAVY_RAIN_MM_H.value, stimulus.rain_share, 1.0)
    elif stimulus.law == "wind":
        about *= wind_share(draws.values["wind_m_s"])
    elif stimulus.law == "sun":
        about *= 0.0 if hours is None else sun_share(hours.solar_w_m2[draws.hour], hours.cloud[draws.hour])
    if stimulus.months is not None:
        about *= len(stimulus.months) / 12.0 if hours is None else np.isin(hours.month[draws.hour], stimulus.months)
    if stimulus.by_hour is not None and hours is not None:
        weights = np.array(stimulus.by_hour)
        mean = weights[hours.clock[hours.armed]].mean()
        about *= weights[hours.clock[draws.hour]] / mean if mean > 0.0 else 0.0
    return about


def _unused(stimulus: Stimulus, hours: RecordedHours | None) -> list[str]:
    """What a stimulus asks of hours that are not there."""
    notes = []
    if hours is None and stimulus.by_hour is not None:
        notes.append(f"{stimulus.name}: by_hour is not used, because weather classes have no hours; it needs [weather_file]")
    if hours is None and stimulus.months is not None:
        share = f"{len(stimulus.months)} of 12 months"
        notes.append(f"{stimulus.name}: every weather class counts as {share}, because weather classes have no dates")
    return notes


def _encounters(site, stimulus: Stimulus) -> np.ndarray:
    """Ways of a body a night at full activity in each segment, at the medians of its rate; NaN for a burst. Those of a road fall
    on the segments whose middle has the road beside it; on all, when none has."""
    cuts = _cuts(site)
    length = [np.array(cut.end_m) - np.array(cut.start_m) for cut in cuts]
    if not isinstance(stimulus, BodyStimulus):
        return np.full(sum(map(len, length)), np.nan)
    comes = [not stimulus.perimeters or each.name in stimulus.perimeters for each in site.perimeter]
    metres = np.concatenate([part if there else np.zeros(len(part)) for part, there in zip(length, comes)])
    if stimulus.way == "along" and stimulus.at is not None:
        by_road = _beside(shapely.LineString(stimulus.at.points_m), np.vstack([cut.point_m for cut in cuts]))
        if metres @ by_road > 0.0:
            metres = metres * by_road
    rate = stimulus.rate
    if rate.per_night is not None:
        return rate.per_night.middle() * metres / max(metres.sum(), 1e-9)
    if rate.per_night_100m is not None:
        return rate.per_night_100m.middle() * metres / 100.0
    return metres * ways_a_night(rate.density_km2.middle(), rate.km_per_night.middle(), 1.0)


def _beside(road: shapely.LineString, points_m: np.ndarray) -> np.ndarray:
    """Which points (n, 2) [m] have a road beside them: it comes nearest to them on its way and not at an end, or is near."""
    points = shapely.points(points_m)
    nearest = shapely.line_locate_point(road, points)
    return ((nearest > 0.0) & (nearest < road.length)) | (shapely.distance(road, points) <= NEAR_ROAD_M)


def _cuts(site) -> list:
    return [cut_segments(section, site.site.segment_length_m) for section in site.perimeter]


def _heard(site, stimulus: Stimulus, views, hiders, notes: list[str]) -> np.ndarray:
    """Cameras whose events of a burst can raise an alarm, (cameras,): a rule listens to them, and they see its place."""
    heard = {mark for rule in site.rule for mark in rule.cameras}
    if isinstance(stimulus, BodyStimulus):
        return np.zeros(len(views), dtype=bool)
    found = np.array([view.mark in heard for view in views], dtype=bool)
    if stimulus.cameras:
        return found & np.array([view.mark in stimulus.cameras for view in views], dtype=bool)
    if stimulus.at is not None:
        z = stimulus.at.height_m
        found &= np.array(
            [
                any(view.in_frame(x, y, z) and hidden_by(view, hiders, x, y, z) is None for x, y in stimulus.at.points_m)
                for view in views
            ],
            dtype=bool,
        )
        if not found.any():
            notes.append(f"{stimulus.name}: {UNSEEN}")
    return found
