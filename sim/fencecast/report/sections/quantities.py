"""Values of a site file in words, for the register: distributions, weather, movements."""

from __future__ import annotations

import math
from collections.abc import Mapping

from fencecast.findings.words import kelvin_difference_text, metres_text
from fencecast.site.quantity import Quantity
from fencecast.site.schema import Intruder, Weather


def number_text(value: float) -> str:
    """A number as it is typed, with the sign of minus and commas at the thousands: `−0.5`, `1,200`."""
    return f"{value:,.6g}".replace("-", "−")


def quantity_text(q: Quantity, unit: str = "") -> str:
    """`8 °C, mostly 6 to 10`, `−0.5 to 0.5 K`, `median 90 m, mostly 55 to 148`, `0 s (60 %), 2 s (40 %)`.

    Mostly: two thirds of the draws, from the 15.9 to the 84.1 % point, which are one standard deviation where nothing is cut off.
    """
    unit = f" {unit}" if unit and not unit.startswith("°") or unit == "°C" else unit
    if q.dist == "fixed":
        return f"{number_text(q.value)}{unit}"
    if q.dist == "uniform":
        return f"{number_text(q.low)} to {number_text(q.high)}{unit}"
    if q.dist == "normal":
        return f"{number_text(q.mean)}{unit}, {_mostly(q)}"
    if q.dist == "lognormal":
        return f"median {number_text(q.median)}{unit}, {_mostly(q)}"
    if q.dist == "triangular":
        return f"{number_text(q.low)} to {number_text(q.high)}{unit}, most often {number_text(q.mode)}"
    weights = q.weights or tuple(1.0 / len(q.values) for _ in q.values)
    return ", ".join(f"{number_text(value)}{unit} ({100 * weight:.3g} %)" for value, weight in zip(q.values, weights))


def _mostly(q: Quantity) -> str:
    """`mostly 6 to 10`, to two digits of what lies between, before and behind the decimal point."""
    low, high = (q.quantile(p) for p in (0.159, 0.841))
    decimals = 1 - math.floor(math.log10(high - low)) if high > low else 3
    return f"mostly {number_text(round(low, decimals) + 0.0)} to {number_text(round(high, decimals) + 0.0)}"


def shares_text(shares: Mapping[str, float]) -> str:
    """`walk 45 %, run 20 %, flat crawl 5 %`; those without a share are left out."""
    return ", ".join(f"{name.replace('_', ' ')} {100 * share:.3g} %" for name, share in shares.items() if share > 0.0)


def speeds_text(intruder: Intruder) -> str:
    """`walk 1.3 m/s, run 4.5 m/s`: medians, of the gaits that have a share."""
    used = [name for name, share in intruder.gaits.items() if share > 0.0]
    return ", ".join(f"{name.replace('_', ' ')} {intruder.speed_m_s[name].middle():.2g} m/s" for name in used)


def air_text(weather: Weather, units: str) -> str:
    """`8 °C, mostly 6 to 10`; with units 'us' the median in Fahrenheit behind it."""
    said = quantity_text(weather.air_temperature_c, "°C")
    middle = weather.air_temperature_c.middle()
    return f"{said} ({middle * 1.8 + 32.0:.0f} °F)".replace("-", "−") if units == "us" else said


def ground_text(weather: Weather, units: str) -> str:
    """`−0.5 to 0.5 K`."""
    said = quantity_text(weather.ground_minus_air_k, "K")
    if units != "us":
        return said
    middle = kelvin_difference_text(weather.ground_minus_air_k.middle(), "us").split("(")[1]
    return f"{said} ({middle}"


def visibility_text(weather: Weather, units: str) -> str:
    """`advection fog, median 90 m, mostly 55 to 148`; `clear` where nothing is said of it."""
    q = weather.visibility_m
    if weather.fog == "none" and (not weather.visibility_given or q.is_fixed and q.middle() >= 20_000.0):
        return "clear"
    said = quantity_text(q, "m")
    if units == "us":
        said += metres_text(q.middle(), "us")[len(metres_text(q.middle())) :]
    return said if weather.fog == "none" else f"{weather.fog} fog, {said}"


def falls_text(weather: Weather) -> str:
    """`rain median 6 mm/h, mostly 3.6 to 9.9`, `nothing`."""
    kinds = [("rain", weather.rain_mm_h), ("snow", weather.snow_mm_h)]
    return "; ".join(f"{name} {quantity_text(q, 'mm/h')}" for name, q in kinds if q.bounds()[1] > 0.0) or "nothing"


def window_text(weather: Weather) -> str:
    """`drops, 5 %`, `film, 5 µm`, `dry`."""
    w = weather.front_window
    if w.state == "drops" and w.share is not None:
        return f"drops, {100 * w.share:.3g} %"
    return f"film, {w.film_um:g} µm" if w.state == "film" and w.film_um is not None else w.state


def clothing_text(intruder: Intruder) -> str:
    """What is worn, and how it looks in the picture."""
    clo = "clothing follows the air" if intruder.clo is None else f"clothing {quantity_text(intruder.clo, 'clo')}"
    return f"{clo}; emissivity {quantity_text(intruder.clothing_emissivity)}"


def approach_text(intruder: Intruder) -> str:
    """Angle, turn, pause, climb, length of the path."""
    parts = [f"{quantity_text(intruder.approach_angle_deg, '°')} from straight in"]
    turn, pause = intruder.turn_deg, intruder.pause_s
    parts.append("no turn" if turn.is_fixed and turn.value == 0.0 else f"turn {quantity_text(turn, '°')}")
    parts.append("no pause" if pause.is_fixed and pause.value == 0.0 else f"pause {quantity_text(pause, 's')}")
    parts.append("climb by the barrier's height" if intruder.climb_s is None else f"climb {quantity_text(intruder.climb_s, 's')}")
    parts.append(f"{intruder.path_m:g} m of path inside")
    return "; ".join(parts)
