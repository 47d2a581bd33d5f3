"""Values of a site file in words, for the register: distributions, weather, movements."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from fencecast.findings.words import kelvin_difference_text, metres_text
from fencecast.site.quantity import Quantity
from fencecast.site.schema import Intruder, Weather

Text = Callable[[float], str]


def number_text(value: float) -> str:
    """A number as it is typed, with the sign of minus and commas at the thousands: `−0.5`, `1,200`."""
    return f"{value:,.6g}".replace("-", "−")


def quantity_text(q: Quantity, unit: str = "", text: Text = number_text, spread: Text = number_text) -> str:
    """`8 °C, sd 2`, `−0.5 to 0.5 K`, `median 90 m, sigma of ln 0.5`, `0 s (60 %), 2 s (40 %)`."""
    unit = f" {unit}" if unit and not unit.startswith("°") or unit == "°C" else unit
    if q.dist == "fixed":
        return f"{text(q.value)}{unit}"
    if q.dist == "uniform":
        return f"{text(q.low)} to {text(q.high)}{unit}"
    if q.dist == "normal":
        ends = "".join(f", {word} {text(end)}" for word, end in (("at least", q.low), ("at most", q.high)) if end is not None)
        return f"{text(q.mean)}{unit}, sd {spread(q.sd)}{ends}"
    if q.dist == "lognormal":
        return f"median {text(q.median)}{unit}, sigma of ln {number_text(q.sigma_ln)}"
    if q.dist == "triangular":
        return f"{text(q.low)} to {text(q.high)}{unit}, most often {text(q.mode)}"
    weights = q.weights or tuple(1.0 / len(q.values) for _ in q.values)
    return ", ".join(f"{text(value)}{unit} ({100 * weight:.3g} %)" for value, weight in zip(q.values, weights))


def shares_text(shares: Mapping[str, float]) -> str:
    """`walk 45 %, run 20 %, flat crawl 5 %`; those without a share are left out."""
    return ", ".join(f"{name.replace('_', ' ')} {100 * share:.3g} %" for name, share in shares.items() if share > 0.0)


def speeds_text(intruder: Intruder) -> str:
    """`walk 1.3 m/s, run 4.5 m/s`: medians, of the gaits that have a share."""
    used = [name for name, share in intruder.gaits.items() if share > 0.0]
    return ", ".join(f"{name.replace('_', ' ')} {intruder.speed_m_s[name].middle():.2g} m/s" for name in used)


def air_text(weather: Weather, units: str) -> str:
    """`8 °C, sd 2`; with units 'us' the median in Fahrenheit behind it."""
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
    """`advection fog, median 90 m, sigma of ln 0.5`; `clear` where nothing is said of it."""
    q = weather.visibility_m
    if weather.fog == "none" and (not weather.visibility_given or q.is_fixed and q.middle() >= 20_000.0):
        return "clear"
    said = quantity_text(q, "m")
    if units == "us":
        said += metres_text(q.middle(), "us")[len(metres_text(q.middle())) :]
    return said if weather.fog == "none" else f"{weather.fog} fog, {said}"


def falls_text(weather: Weather) -> str:
    """`rain median 6 mm/h, sigma of ln 0.5`, `nothing`."""
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
