"""How places are named: a letter for each section, and codes such as `B 58–68 m`. Light to import: no results are needed.

Tests: tests/estimate/test_places.py.
"""

from __future__ import annotations

import math
from itertools import count, islice

from fencecast.site import Site


def section_letters(site: Site, cameras: bool = True) -> tuple[str, ...]:
    """A letter for each section in perimeter order, A, B, ... Z, AA, AB, ...; none begins the mark of a camera, or P, as proposed
    cameras are called: "C 48 m" and "C6" side by side would be read as the same thing. cameras: False where those
    of the site will be gone."""
    taken = {camera.mark[0].upper() for camera in site.camera if cameras} | {"P"}
    free = (letter for number in count() if (letter := letter_number(number))[0] not in taken or number >= 26)
    return tuple(islice(free, len(site.perimeter)))


def letter_number(number: int) -> str:
    """The letters of a number from 0: A, B, ... Z, AA, AB, ..."""
    letters = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def whole(value: float) -> str:
    """Whole numbers with a comma at the thousands, halves up (2.5 m must not read as 2 here and 3 there)."""
    return f"{math.floor(value + 0.5):,}"


def place_code(letter: str, start_m: float, end_m: float, end_letter: str | None = None) -> str:
    """`B 58–68 m`, or across a joint `B 108 m to C 2 m` [chainage in metres along each section]."""
    if (end_letter is None or end_letter == letter) and end_m >= start_m:
        return f"{letter} {whole(start_m)}–{whole(end_m)} m"
    return f"{letter} {whole(start_m)} m to {end_letter or letter} {whole(end_m)} m"


def standing_text(site: Site, position_m: tuple[float, float], cameras: bool = True) -> str:
    """Where a point stands beside the nearest section: `D 18.3 m, 1 m inside the fence`, `A 4 m, on the fence line`.

    position_m: x, y [m]; cameras: as in `section_letters`. To 0.1 m; of sections as near the one that it stands beside.
    """
    from fencecast.site.fenceplaces import nearest_place  # here, because most that is named is named without geometry
    from fencecast.site.geometry import section_length_m

    place = nearest_place(site, *position_m)
    chainage = min(max(place.chainage_m, 0.0), section_length_m(site.perimeter[place.section]))
    side = "inside" if place.inside_m > 0.0 else "outside"
    where = "on the fence line" if place.distance_m < 0.05 else f"{_tenths(place.distance_m)} m {side} the fence"
    return f"{section_letters(site, cameras)[place.section]} {_tenths(chainage)} m, {where}"


def _tenths(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")
