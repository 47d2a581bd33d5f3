"""Conversions at the border: exact by definition."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fencecast import units


@pytest.mark.parametrize(
    ("text", "unit", "number"),
    [
        ("14 ft", "m", 4.2672),
        ("0.5 in", "mm", 12.7),
        ("0.5in", "m", 0.0127),
        ("3 mm", "mm", 3.0),
        ("17 um", "um", 17.0),
        ("17 \u00b5m", "um", 17.0),
        ("0.017 mm", "um", 17.0),
        ("2 yd", "m", 1.8288),
        ("1.5 km", "m", 1500.0),
        ("25 cm", "m", 0.25),
        ("-.5 m", "m", -0.5),
        ("+1.2e1 m", "m", 12.0),
        (" 4 m ", "m", 4.0),
    ],
)
def test_lengths(text, unit, number):
    """Source: inch 25.4 mm, foot 12 in, yard 3 ft (1959 agreement). Exact: the nearest double, not a neighbour."""
    assert units.parse_length(text, unit) == number


@pytest.mark.parametrize(
    ("text", "celsius"),
    [("41 F", 5.0), ("32F", 0.0), ("-40 F", -40.0), ("212 \u00b0F", 100.0), ("5 C", 5.0), ("278 K", 4.85), ("0 k", -273.15)],
)
def test_temperatures(text, celsius):
    """Source: 0 C = 32 F = 273.15 K, 100 C = 212 F, and the point where both scales agree."""
    assert units.parse_temperature(text) == celsius


@pytest.mark.parametrize(("text", "kelvin"), [("3.6 F", 2.0), ("2 K", 2.0), ("-2 C", -2.0), ("0 F", 0.0)])
def test_temperature_differences_have_no_offset(text, kelvin):
    assert units.parse_temperature_difference(text) == kelvin


@pytest.mark.parametrize(
    "text", ["", "4", "m", "4 furlongs", "4 M", "4 m2", "1e400 m", "1e999999999 m", "nan m", "4 5 m", "1_0 m", "4" * 70 + " m"]
)
def test_no_lengths(text):
    """Would catch text that slips through as a number, and an exponent that would take all memory."""
    with pytest.raises((ValueError, OverflowError)):
        units.parse_length(text)


@pytest.mark.parametrize("text", ["", "4", "4 R", "4 CC", "C"])
def test_no_temperatures(text):
    with pytest.raises(ValueError):
        units.parse_temperature(text)
    with pytest.raises(ValueError):
        units.parse_temperature_difference(text)


@given(st.floats(min_value=-90, max_value=70))
def test_conversions_there_and_back(celsius):
    assert units.kelvin_to_celsius(units.celsius_to_kelvin(celsius)) == pytest.approx(celsius, abs=1e-12)
    assert units.parse_temperature(f"{units.celsius_to_fahrenheit(celsius)!r} F") == pytest.approx(celsius, abs=1e-12)
    assert units.metres_to_feet(0.3048 * celsius) == pytest.approx(celsius)
