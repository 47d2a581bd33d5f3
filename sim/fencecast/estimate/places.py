"""Names of places along the fence."""

from __future__ import annotations

import math


def section_letter(number: int) -> str:
    """Letter of the section with this index in perimeter order: A, B, ... Z, AA, AB, ..."""
    letters = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def _metre(value: float) -> str:
    return f"{math.floor(value + 0.5):,}"


def place_code(letter: str, start_m: float, end_m: float, end_letter: str | None = None) -> str:
    """`B 58–68 m`, or across a joint `B 108 m to C 2 m`. Chainage is whole metres along each section."""
    if end_letter is None or end_letter == letter:
        return f"{letter} {_metre(start_m)}–{_metre(end_m)} m"
    return f"{letter} {_metre(start_m)} m to {end_letter} {_metre(end_m)} m"
