"""The weather's part of what may be lifted: fog, rain and snow in the air, the front window, clutter, wet clothing, crossover."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from fencecast.kernels.draw import quantile
from fencecast.kernels.types import (
    AIR_TEMPERATURE_K,
    CLO,
    CLOTHING_EMISSIVITY,
    CLUTTER_K,
    FIXED,
    FOLLOWS,
    GROUND_MINUS_AIR_K,
    RAIN_MM_H,
    RELATIVE_HUMIDITY,
    SNOW_MM_H,
    VISIBILITY_M,
    WETNESS,
    WIND_M_S,
    Plan,
)
from fencecast.physics.surfaces import clothing_temperature_k, median_clo

LOW_CLUTTER_K = 0.1
APART_K = 3.0  # ground and clothing are then no longer alike
_WALK_M_S = 1.3
_LEAST_RAIN_MM_H = 0.05
_CLEAR_M, _HAZY_M = 20_000.0, 5_000.0  # haze is asked for where the visibility is below the second


@dataclass(frozen=True)
class Lift:
    """One thing lifted: what it is called in the results ("fog", "obstacle: Store", "gait: crawl"), and the plan without it."""

    name: str
    change: Callable[[Plan], Plan]


def medians(plan: Plan, states: range, row: int) -> np.ndarray:
    """Median of a quantity in each of these states of the weather."""
    weather = plan.weather
    return np.array([quantile(weather.quantity[state, row], weather.choice, 0.5) for state in states])


def weather_lifts(plan: Plan, weather_class: int) -> list[Lift]:
    """What the weather of a class has that may be lifted; what it does not have is not asked for."""
    weather = plan.weather
    states = range(int(weather.class_first[weather_class]), int(weather.class_first[weather_class + 1]))
    rows = slice(states.start, states.stop)
    wet = max(medians(plan, states, RAIN_MM_H).max(), medians(plan, states, SNOW_MM_H).max()) > _LEAST_RAIN_MM_H
    lifts = []
    if weather.fog_kind[rows].any():
        lifts.append(Lift("fog", _clear_of_fog))
    elif medians(plan, states, VISIBILITY_M).min() < _HAZY_M and not wet:
        lifts.append(Lift("haze", lambda plan: _fixed(plan, VISIBILITY_M, _CLEAR_M)))
    if wet:
        lifts.append(Lift("precipitation", _dry_air))
    if (weather.window[rows] < 1.0).any():
        clean = np.ones_like(weather.window)
        lifts.append(Lift("front window", lambda plan: plan._replace(weather=plan.weather._replace(window=clean))))
    if medians(plan, states, CLUTTER_K).max() > LOW_CLUTTER_K:
        lifts.append(Lift("clutter", lambda plan: _fixed(plan, CLUTTER_K, LOW_CLUTTER_K)))
    if medians(plan, states, WETNESS).max() > 0.0:
        lifts.append(Lift("wet clothing", lambda plan: _fixed(plan, WETNESS, 0.0)))
    apart = _apart(plan, states)
    if apart is not None:
        lifts.append(Lift("crossover", apart))
    return lifts


def _fixed(plan: Plan, row: int, values: np.ndarray | float, states: slice | None = None) -> Plan:
    """The plan with a quantity of the weather at a fixed value (of each state)."""
    quantity = plan.weather.quantity.copy()
    states = slice(None) if states is None else states
    quantity[states, row] = 0.0
    quantity[states, row, 0], quantity[states, row, 1] = FIXED, values
    return plan._replace(weather=plan.weather._replace(quantity=quantity))


def _clear_of_fog(plan: Plan) -> Plan:
    """No droplets of fog in the air: what rain and snow dim stays, from their rates."""
    weather = plan.weather
    foggy = weather.fog_kind != 0
    given, quantity = np.where(foggy, 0, weather.visibility_given), weather.quantity.copy()
    quantity[foggy, VISIBILITY_M] = 0.0
    quantity[foggy, VISIBILITY_M, :2] = FIXED, _CLEAR_M
    return plan._replace(
        weather=weather._replace(fog_kind=np.zeros_like(weather.fog_kind), visibility_given=given, quantity=quantity)
    )


def _dry_air(plan: Plan) -> Plan:
    """Neither rain nor snow in the air; a visibility that they had taken up does not become haze."""
    plan = _fixed(_fixed(plan, RAIN_MM_H, 0.0), SNOW_MM_H, 0.0)
    clear = plan.weather.quantity.copy()
    without_fog = plan.weather.fog_kind == 0
    clear[without_fog, VISIBILITY_M] = 0.0
    clear[without_fog, VISIBILITY_M, :2] = FIXED, _CLEAR_M
    return plan._replace(weather=plan.weather._replace(quantity=clear))


def _apart(plan: Plan, states: range) -> Callable[[Plan], Plan] | None:
    """Ground that differs by APART_K from the clothing, on the side that is farther from now; None when it does already."""
    clothing, ground = _clothing_minus_air_k(plan, states), medians(plan, states, GROUND_MINUS_AIR_K)
    if (np.abs(ground - clothing) >= APART_K).all():
        return None
    warmer, colder = clothing + APART_K, clothing - APART_K
    wanted = np.where(np.abs(warmer - ground) > np.abs(colder - ground), warmer, colder)
    return lambda plan: _fixed(plan, GROUND_MINUS_AIR_K, wanted, slice(states.start, states.stop))


def _clothing_minus_air_k(plan: Plan, states: range) -> np.ndarray:
    """How much warmer than air a walker's clothing is, at the medians of each state [K]."""
    who, weather = plan.intruder, plan.weather
    air, humidity, wind, wetness, ground = (
        medians(plan, states, row) for row in (AIR_TEMPERATURE_K, RELATIVE_HUMIDITY, WIND_M_S, WETNESS, GROUND_MINUS_AIR_K)
    )
    emissivity = quantile(who.quantity[CLOTHING_EMISSIVITY], who.choice, 0.5)
    worn = who.quantity[CLO]
    above = []
    for k, state in enumerate(states):
        clo = median_clo(air[k]) if int(worn[0]) == FOLLOWS else quantile(worn, who.choice, 0.5)
        sky = air[k] - weather.low_sky_below_air_k[state]
        surface = clothing_temperature_k(
            air[k], humidity[k], wind[k], _WALK_M_S, clo, emissivity, wetness[k], air[k] + ground[k], sky
        )
        above.append(surface - air[k])
    return np.array(above)
