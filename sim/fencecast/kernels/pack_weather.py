"""Packing weather classes: each a list of joint states with weights, one for a class that was described, many for real hours."""

from __future__ import annotations

import numpy as np

from fencecast.kernels.pack_quantity import Choices, fixed_rows, pack_quantity
from fencecast.kernels.types import (
    AIR_TEMPERATURE_K,
    CHOICE,
    CLUTTER_K,
    DISTRIBUTION_WIDTH,
    DROP_RADIUS_UM,
    FIXED,
    GROUND_MINUS_AIR_K,
    LOGNORMAL,
    NORMAL,
    RAIN_MM_H,
    RELATIVE_HUMIDITY,
    SNOW_MM_H,
    TRIANGULAR,
    UNIFORM,
    VISIBILITY_M,
    WEATHER_QUANTITIES,
    WETNESS,
    WIND_M_S,
    Weather,
)
from fencecast.meteorology.classes import CONVENTIONS, FOG_DROPS, FOG_KINDS, UNUSED_DROPS, drop_radius_of
from fencecast.meteorology.ease import ease
from fencecast.meteorology.load import classes_of
from fencecast.meteorology.year import HourClass
from fencecast.physics.droplets import window_film_transmission
from fencecast.physics.surfaces import CLEAR_SKY_BELOW_AIR_K, OVERCAST_SKY_BELOW_AIR_K
from fencecast.site.quantity import Quantity
from fencecast.units import ZERO_CELSIUS_K

# The place of each number in a packed row, its shift into SI, and its name.
QUANTITY_ROWS = (
    (AIR_TEMPERATURE_K, ZERO_CELSIUS_K, "air_temperature_c"),
    (RELATIVE_HUMIDITY, 0.0, "relative_humidity"),
    (WIND_M_S, 0.0, "wind_m_s"),
    (VISIBILITY_M, 0.0, "visibility_m"),
    (RAIN_MM_H, 0.0, "rain_mm_h"),
    (SNOW_MM_H, 0.0, "snow_mm_h"),
    (GROUND_MINUS_AIR_K, 0.0, "ground_minus_air_k"),
    (CLUTTER_K, 0.0, "clutter_k"),
    (WETNESS, 0.0, "wetness"),
)
# Numbers of a packed distribution that are multiplied when its values are (see `kernels.draw.quantile`).
_SCALED = {FIXED: (1,), UNIFORM: (1, 2), NORMAL: (1, 2), LOGNORMAL: (1,), TRIANGULAR: (1, 2, 3)}
_UNKNOWN_VISIBILITY_M = 20_000.0


def pack_weather(site, weather=None) -> Weather:
    """The states of the classes of `weather` (default: all of the site's), class after class.

    Clutter is times the median of `clutter_factor`; its spread is drawn by crossings. That of hours may be given.
    """
    choices = Choices()
    record = None if site is None else site.weather_file
    clutter = None if record is None else record.clutter_k
    parts = [
        _hour_states(each, choices, clutter) if isinstance(each, HourClass) else _described(each, choices)
        for each in (classes_of(site) if weather is None else weather)
    ]
    names = ("cumulative", "quantity", "fog_kind", "convention", "visibility_given", "low_sky_below_air_k", "window")
    first = np.cumsum([0] + [len(part["window"]) for part in parts]).astype(np.int64)
    packed = Weather(class_first=first, choice=choices.table(), **{n: np.concatenate([part[n] for part in parts]) for n in names})
    factor = 1.0 if site is None else site.decision.clutter_factor.middle()
    return packed if factor == 1.0 else clutter_scaled(packed, factor)


def clutter_scaled(weather: Weather, factor: float) -> Weather:
    """The same weather with every clutter times a factor, whatever it is distributed like."""
    quantity, choice = weather.quantity.copy(), weather.choice.copy()
    shared: set[tuple[int, int]] = set()  # values that several states draw from are scaled once
    for row in quantity[:, CLUTTER_K]:
        if row[0] != CHOICE:
            row[list(_SCALED[int(row[0])])] *= factor
        elif (first := int(row[1]), count := int(row[2])) not in shared:
            shared.add((first, count))
            choice[first : first + count, 0] *= factor
    return weather._replace(quantity=quantity, choice=choice)


def _described(w, choices: Choices) -> dict[str, np.ndarray]:
    """A class of the site file: one state whose quantities vary."""
    quantity = np.zeros((1, WEATHER_QUANTITIES, DISTRIBUTION_WIDTH))
    for row, shift, name in QUANTITY_ROWS:
        quantity[0, row] = pack_quantity(getattr(w, name), choices, shift=shift)
    quantity[0, DROP_RADIUS_UM] = pack_quantity(drop_radius_of(w), choices)
    return {
        "cumulative": np.ones(1),
        "quantity": quantity,
        "fog_kind": np.array([FOG_KINDS[w.fog]], dtype=np.int64),
        "convention": np.array([CONVENTIONS[w.visibility_convention]], dtype=np.int64),
        "visibility_given": np.array([w.visibility_given], dtype=np.int64),
        "low_sky_below_air_k": np.array([OVERCAST_SKY_BELOW_AIR_K if w.sky == "overcast" else CLEAR_SKY_BELOW_AIR_K]),
        "window": np.array([window_factor(w.front_window)], dtype=float),
    }


def _hour_states(hours: HourClass, choices: Choices, clutter: Quantity | None = None) -> dict[str, np.ndarray]:
    """A class of real hours: every number as it was in its hour, the drops drawn by the kind of fog, and `clutter` when given.

    States stand in the order of `ease`, by how well people are made out in them: neighbours in the draw are then alike in what
    matters, and a quasi-random draw of the hour is worth more than a random one. The order does not change the class.
    """
    states = hours.states
    if len(states) > 1:
        by = states if hours.ordered_by is None else hours.ordered_by
        ties = (by.low_sky_below_air_k, by.wind_m_s, by.air_temperature_c, by.ground_minus_air_k)
        states = states.take(np.lexsort((*ties, by.rain_mm_h + by.snow_mm_h, -by.visibility_m, ease(by))))
    count = len(states)
    quantity = np.zeros((count, WEATHER_QUANTITIES, DISTRIBUTION_WIDTH))
    for row, shift, name in QUANTITY_ROWS:
        quantity[:, row] = fixed_rows(getattr(states, name), shift)
    visible = np.isfinite(states.visibility_m)
    quantity[:, VISIBILITY_M] = fixed_rows(np.where(visible, states.visibility_m, _UNKNOWN_VISIBILITY_M))
    if clutter is not None:
        quantity[:, CLUTTER_K] = pack_quantity(clutter, choices)
    for kind, code in FOG_KINDS.items():
        quantity[states.fog == code, DROP_RADIUS_UM] = pack_quantity(FOG_DROPS.get(kind, UNUSED_DROPS), choices)
    cumulative = np.cumsum(states.weight) / states.weight.sum()
    cumulative[-1] = 1.0
    return {
        "cumulative": cumulative,
        "quantity": quantity,
        "fog_kind": states.fog.astype(np.int64),
        "convention": np.full(count, CONVENTIONS["optical_range"], dtype=np.int64),
        "visibility_given": visible.astype(np.int64),
        "low_sky_below_air_k": states.low_sky_below_air_k.astype(float),
        "window": states.window.astype(float),
    }


def window_factor(window) -> float:
    """Share of contrast that the state of the window passes: dry 1, drops 1 - share, film by its absorption."""
    if window.state == "drops":
        return 1.0 - window.share
    if window.state == "film":
        return float(window_film_transmission(window.film_um))
    return 1.0
