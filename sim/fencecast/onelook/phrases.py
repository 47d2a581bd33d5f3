"""Phrases of the budget with lengths and temperatures in them: once with SI units, once with feet and Fahrenheit behind them."""

from __future__ import annotations

from typing import NamedTuple

from fencecast.units import METRES_PER_FOOT


class Phrase(NamedTuple):
    """The same words for sites with units "si" and with units "us"."""

    si: str
    us: str

    def keys(self, name: str) -> dict[str, str]:
        """The two entries of an object: `name` and `name_us`."""
        return {name: self.si, f"{name}_us": self.us}


def plain(text: str) -> Phrase:
    """Words without a length or a temperature."""
    return Phrase(text, text)


def joined(template: str, *parts: Phrase) -> Phrase:
    """A template with one {} for each part."""
    return Phrase(template.format(*(part.si for part in parts)), template.format(*(part.us for part in parts)))


def metres(value_m: float, decimals: int = 0) -> Phrase:
    """'40.1 m', and '40.1 m (132 ft)'."""
    text = f"{value_m:,.{decimals}f} m"
    return Phrase(text, f"{text} ({value_m / METRES_PER_FOOT:,.0f} ft)")


def celsius(value_c: float) -> Phrase:
    """'6.7 °C', and '6.7 °C (44 °F)': a tenth of a degree Celsius is a fifth of one of Fahrenheit's, so those are rounded."""
    text = f"{value_c:.1f} °C"
    return Phrase(text, f"{text} ({1.8 * value_c + 32.0:.0f} °F)")


def kelvin(value_k: float) -> Phrase:
    """A difference of temperatures: '0.44 K', and '0.44 K (0.8 °F)'."""
    text = f"{value_k:.2f} K".replace("-", "−")
    return Phrase(text, f"{text} ({1.8 * value_k:.1f} °F)".replace("-", "−"))
