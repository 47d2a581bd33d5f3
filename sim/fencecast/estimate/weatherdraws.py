"""The weather of a class as weighted draws, for what goes by it alone: when a stimulus is about, how much clutter there is.

A class that was described is some quasi-random draws of its quantities, which are independent of each other; one of real hours is
its hours' own states. Tests: tests/estimate/test_exposure.py.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from fencecast.estimate.nights import uniform_draws
from fencecast.kernels.draw import quantiles
from fencecast.kernels.pack_quantity import Choices, pack_quantity
from fencecast.meteorology.armed import clock_of_hours
from fencecast.meteorology.sky import solar_w_m2
from fencecast.meteorology.year import HourClass, Year
from fencecast.site.quantity import Quantity
from fencecast.site.schema import Weather
from fencecast.site.stimulusfields import WEATHER_QUANTITIES

DRAWS = 4096
_CLEAR_M = 20_000.0  # what an hour without a visibility counts as, as in `kernels.pack_weather`
_GOLDEN = 0.5 * (5.0**0.5 - 1.0)
_HALF_A_DAY = np.timedelta64(12, "h")


@dataclass(frozen=True)
class ClassDraws:
    """Draws of the weather of one class.

    values of each of WEATHER_QUANTITIES (draws,), in the units of their names; weight (draws,), adding up to 1; hour (draws,):
    index of the record's hour that a draw is of, None for a class that was described.
    """

    values: Mapping[str, np.ndarray]
    weight: np.ndarray
    hour: np.ndarray | None


def class_draws(site, classes: Sequence[Weather | HourClass]) -> tuple[ClassDraws, ...]:
    """The draws of every class; clutter is times the median of `clutter_factor`, as the kernel has it."""
    factor = site.decision.clutter_factor.middle()
    clutter = None if site.weather_file is None else site.weather_file.clutter_k
    return tuple(_of_hours(w, factor, clutter) if isinstance(w, HourClass) else _described(w, factor) for w in classes)


def _described(weather: Weather, factor: float) -> ClassDraws:
    u = uniform_draws(WEATHER_QUANTITIES, DRAWS)
    values = {name: _values(getattr(weather, name), u[:, k]) for k, name in enumerate(WEATHER_QUANTITIES)}
    values["clutter_k"] = factor * values["clutter_k"]
    return ClassDraws(values, np.full(DRAWS, 1.0 / DRAWS), None)


def _values(quantity: Quantity, u: np.ndarray) -> np.ndarray:
    choices = Choices()
    row = pack_quantity(quantity, choices)
    return quantiles(row, choices.table(), np.ascontiguousarray(u))


def _of_hours(hours: HourClass, factor: float, clutter: Quantity | None) -> ClassDraws:
    states = hours.states
    values = {name: getattr(states, name) for name in WEATHER_QUANTITIES}
    values["visibility_m"] = np.where(np.isfinite(states.visibility_m), states.visibility_m, _CLEAR_M)
    if clutter is not None:
        values["clutter_k"] = _values(clutter, (np.arange(len(states)) + 0.5) * _GOLDEN % 1.0)
    values["clutter_k"] = factor * values["clutter_k"]
    return ClassDraws(values, states.weight / states.weight.sum(), states.hour)


@dataclass(frozen=True)
class RecordedHours:
    """What of each hour of a record (hours,) decides how much is about, besides its weather.

    clock (0 to 23) and month (1 to 12) by the clock that arms; solar_w_m2 on level ground; cloud [0-1]; armed, counted [bool];
    night: number of the night that an hour belongs to, from noon to noon.
    """

    clock: np.ndarray
    month: np.ndarray
    solar_w_m2: np.ndarray
    cloud: np.ndarray
    armed: np.ndarray
    counted: np.ndarray
    night: np.ndarray


def recorded_hours(site, year: Year, counted: np.ndarray) -> RecordedHours:
    """The hours of a year; counted (hours,) [bool]: those that classes hold."""
    records = year.records
    clock = clock_of_hours(site.armed, records.time, records.utc_offset_h)
    day = (clock - _HALF_A_DAY).astype("datetime64[D]").astype(np.int64)
    cloud = year.middle["cloud"]
    return RecordedHours(
        clock=(clock.astype("datetime64[h]").astype(np.int64) % 24),
        month=clock.astype("datetime64[M]").astype(np.int64) % 12 + 1,
        solar_w_m2=solar_w_m2(records.values["ghi_w_m2"], year.sun_elevation_deg, cloud),
        cloud=cloud,
        armed=year.armed,
        counted=counted,
        night=day - day.min(),
    )
