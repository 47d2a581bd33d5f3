"""What the pictures of one look share: its foot line, and the words for a lens, a person and a contrast in kelvin."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from fencecast import __version__
from fencecast.findings.words import feet, whole
from fencecast.site import Site

# How the person moves, as the end of 'person ...'; the look has the person crossing the view to the right.
GAITS = {
    "walk": "walking across",
    "run": "running across",
    "crouch": "crouched, moving across",
    "crawl": "crawling across",
    "flat crawl": "flat on the ground, crawling across",
}


def one_look_attrs(site: Site) -> dict:
    """What the foot of a one-look picture prints, in the shape of the results' attributes."""
    return {"title": site.title, "version": __version__, "site_sha256": site.sha256 or "not read from a file"}


def distance_text(distance_m: float, units: str = "si") -> str:
    """A distance that the user asked for, with the decimal that it has: '40 m', '12.5 m', with units 'us' '40 m (131 ft)'."""
    text = f"{distance_m:,.1f}".removesuffix(".0") + " m"
    return f"{text} ({whole(feet(distance_m))} ft)" if units == "us" else text


def phrase(of: Mapping[str, Any], key: str, units: str) -> str:
    """A phrase of a budget, such as the `detail` of a step; with units 'us' the one with feet and Fahrenheit degrees."""
    return str((of.get(f"{key}_us") if units == "us" else "") or of.get(key) or "")


def lens_text(site: Site, lens: str) -> str:
    """'3 mm lens' for a lens of the site by its name; anything else as it is."""
    known = site.lenses.get(lens)
    return f"{known.focal_length_mm:g} mm lens" if known is not None else lens


def gait_text(gait: str) -> str:
    """'walking across' for 'walk'."""
    return GAITS.get(gait, gait)


def who_text(who: str, gait: str | None) -> str:
    """Who is looked at and how it moves: 'person walking across', 'fox moving across'."""
    return f"{who} {gait_text(gait) if gait else 'moving across'}"


def with_article(words: str) -> str:
    """'a fox', 'an 8 mm lens'."""
    return f"an {words}" if words[:1] in "8aeiou" or words.startswith("11 ") else f"a {words}"


def kelvin_text(value_k: float, units: str = "si", figures: int = 3) -> str:
    """A contrast with the digits that a pocket calculator needs: '2.53 K', '0.382 K', '−0.0421 K'; with `figures` 2 '0.38 K'.

    Nothing smaller than a ten-thousandth is spelt out. With units 'us' the Fahrenheit degrees follow (a difference:
    times 1.8, no offset).
    """
    text = f"{_digits(value_k, figures)} K"
    return f"{text} ({_digits(1.8 * value_k, figures)} °F)" if units == "us" else text


def _digits(value: float, figures: int) -> str:
    size = abs(value)
    if math.isnan(value):
        return "no"
    if size == 0:
        return "0"
    if size < 1e-4:
        return "<0.0001" if value > 0 else "−0.0001 to 0"
    # The power of ten after rounding: 0.09996 with three figures is 0.100, not 0.1000.
    power = math.floor(math.log10(float(f"{size:.{figures - 1}e}")))
    return f"{size:.{max(figures - 1 - power, 0)}f}" if value > 0 else f"−{size:.{max(figures - 1 - power, 0)}f}"


def signed_kelvin_text(value_k: float, units: str = "si") -> str:
    """A contrast with its sign and two decimals: '+3.70 K', '−0.42 K'."""

    def signed(value: float) -> str:
        return f"{value:+.2f}".replace("-", "−")

    return f"{signed(value_k)} K ({signed(1.8 * value_k)} °F)" if units == "us" else f"{signed(value_k)} K"


def celsius_text(temperature_c: float, units: str = "si") -> str:
    """'6.7 °C', with units 'us' '6.7 °C (44.1 °F)'."""
    text = f"{temperature_c:.1f} °C"
    if units == "us":
        text += f" ({1.8 * temperature_c + 32.0:.1f} °F)"
    return text.replace("-", "−")
