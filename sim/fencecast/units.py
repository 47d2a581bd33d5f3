"""Conversions, at the border only: what a user types or reads. Inside the code everything is SI, kelvin and radians.

Exact by definition: inch 25.4 mm, foot 12 inches, yard 3 feet (international yard and pound agreement, 1959), 0 C = 273.15 K,
Fahrenheit F = 1.8 C + 32.
"""

from __future__ import annotations

import re
from fractions import Fraction

ZERO_CELSIUS_K = 273.15
METRES_PER_FOOT = 0.3048

# Fractions, so that "0.5 in" becomes the double nearest to 12.7 mm and not a neighbour of it.
_METRES = {
    "m": Fraction(1),
    "mm": Fraction(1, 1000),
    "cm": Fraction(1, 100),
    "um": Fraction(1, 1_000_000),
    "km": Fraction(1000),
    "ft": Fraction(3048, 10000),
    "in": Fraction(254, 10000),
    "yd": Fraction(9144, 10000),
}
LENGTH_UNITS = ", ".join(_METRES)
TEMPERATURE_UNITS = "C, F, K"
_NUMBER_AND_UNIT = re.compile(r"\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([^\d\s].*?)\s*", re.DOTALL)


def _split(text: str) -> tuple[Fraction, str]:
    found = _NUMBER_AND_UNIT.fullmatch(text)
    if not found or len(text) > 60:
        raise ValueError("not a number with a unit")
    exponent = re.search(r"[eE]([+-]?\d+)$", found[1])
    if exponent and abs(int(exponent[1])) > 300:
        raise ValueError("the number is beyond all bounds")
    return Fraction(found[1]), found[2]


def parse_length(text: str, unit: str = "m") -> float:
    """A length with a unit ("14 ft", "0.5 in") as a number in `unit`; ValueError when it is none."""
    number, typed = _split(text)
    typed = typed.replace("\u00b5", "u").replace("\u03bc", "u")
    if typed not in _METRES:
        raise ValueError(f"unknown unit of length {typed!r}")
    return float(number * _METRES[typed] / _METRES[unit])


def parse_temperature(text: str) -> float:
    """A temperature with a unit ("41 F", "5 C", "278 K") in Celsius; ValueError when it is none."""
    number, letter = _temperature(text)
    if letter == "C":
        return float(number)
    if letter == "F":
        return float((number - 32) * Fraction(5, 9))
    return float(number - Fraction(27315, 100))


def parse_temperature_difference(text: str) -> float:
    """A difference of temperatures with a unit ("3.6 F", "2 K") in kelvin: no offset; ValueError when it is none."""
    number, letter = _temperature(text)
    return float(number * Fraction(5, 9) if letter == "F" else number)


def _temperature(text: str) -> tuple[Fraction, str]:
    number, typed = _split(text)
    letter = typed.replace("\u00b0", "").strip().upper()
    if letter not in {"C", "F", "K"}:
        raise ValueError(f"unknown unit of temperature {typed!r}")
    return number, letter


def celsius_to_kelvin(temperature_c: float) -> float:
    """[C] to [K]."""
    return temperature_c + ZERO_CELSIUS_K


def kelvin_to_celsius(temperature_k: float) -> float:
    """[K] to [C]."""
    return temperature_k - ZERO_CELSIUS_K


def celsius_to_fahrenheit(temperature_c: float) -> float:
    """[C] to [F], for showing."""
    return temperature_c * 1.8 + 32.0


def metres_to_feet(length_m: float) -> float:
    """[m] to [ft], for showing."""
    return length_m / METRES_PER_FOOT
