"""Small sites of a walk test in other shapes: gates, no barrier, two classes, one camera, other rules; all invented."""

from __future__ import annotations

from pathlib import Path

import fencecast as fc

SHORT = (Path(__file__).parents[1] / "data" / "proof" / "short-yard.toml").read_text(encoding="utf-8")
FOG = """
[[weather]]
name = "thick fog"
hours_per_year = 5000
air_temperature_c = 7.0
relative_humidity = 0.99
ground_minus_air_k = 0.3
fog = "radiation"
visibility_m = 12.0
sky = "overcast"
"""


def open_yard() -> fc.Site:
    """The short yard without a barrier."""
    return fc.parse_site(SHORT.replace('barrier = "mesh"', 'barrier = "none"'))


def foggy_yard() -> fc.Site:
    """The short yard with a class of most hours in which it does badly."""
    return fc.parse_site(SHORT + FOG)


def sharp_yard() -> fc.Site:
    """The short yard with a core that needs fewer cycles: most of it meets."""
    return fc.parse_site(SHORT.replace("cycles_50 = 2.0", "cycles_50 = 0.7"))


def one_camera_yard() -> fc.Site:
    """The short yard with camera W alone."""
    first, _, rest = SHORT.partition('[[camera]]\nmark = "E"')
    return fc.parse_site(first + "[[rule]]" + rest.partition("[[rule]]")[2])


def ruled_yard(rule: str) -> fc.Site:
    """The short yard with lines added to its rule."""
    return fc.parse_site(SHORT.replace("offset_m = 1.5", f"offset_m = 1.5\n{rule}"))
