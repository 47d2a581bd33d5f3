"""Signs that the pictures' font does not have: another installed font draws them, or a line names them.

Titles and marks are the user's own, in any script. The pictures' font comes with matplotlib, so that pictures are alike
everywhere, and has no ideographs; whether another font has them depends on the machine.
"""

from __future__ import annotations

import warnings
from contextlib import contextmanager
from functools import cache

from matplotlib import font_manager
from matplotlib.ft2font import FT2Font

from fencecast.show.paper import style

MOST_NAMED = 10

# Signs that were asked for and that no installed font has, in the order in which they came; a set that keeps its order.
without_font: dict[str, None] = {}


def families(text: str) -> list[str]:
    """Font families to draw a text with: the pictures' own, then those that have the signs which it lacks.

    A sign that no font has is added to `without_font`, and is drawn as an empty box.
    """
    found = [style.FONT]
    for sign in text:
        if sign <= "~" or ord(sign) in _signs(font_manager.findfont(style.FONT)):
            continue
        family = _stand_in(sign)
        if family is None:
            without_font[sign] = None
        elif family not in found:
            found.append(family)
    return found


def without_font_words() -> str:
    """`The font has no sign for 東, 京: drawn as empty boxes; ...`."""
    signs = list(without_font)
    named = ", ".join(signs[:MOST_NAMED]) + (f" and {len(signs) - MOST_NAMED} more" if len(signs) > MOST_NAMED else "")
    drawn = "it is drawn as an empty box" if len(signs) == 1 else "they are drawn as empty boxes"
    return f"The font has no sign for {named}: {drawn} in pictures; a font installed here that has them would be used"


@contextmanager
def quiet():
    """Without matplotlib's warning for every such sign in every text: one line at a command's end names them all."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message=r"Glyph \d+ .* missing from", category=UserWarning)
        yield


@cache
def _signs(path: str) -> frozenset[int]:
    """Code points that a font file has; none when it cannot be read."""
    try:
        return frozenset(FT2Font(path).get_charmap())
    except (OSError, RuntimeError):
        return frozenset()


@cache
def _stand_in(sign: str) -> str | None:
    """The installed upright family that has a sign, sans serif first, then by name; None when there is none."""
    upright = [f for f in font_manager.fontManager.ttflist if f.style == "normal" and "last resort" not in f.name.lower()]
    for font in sorted(upright, key=lambda f: ("sans" not in f.name.lower(), f.name, abs(_weight(f.weight) - 400), f.fname)):
        # findfont may choose another file of the family: that one must have the sign.
        if ord(sign) in _signs(font.fname) and ord(sign) in _signs(font_manager.findfont(font.name)):
            return font.name
    return None


def _weight(weight) -> int:
    return weight if isinstance(weight, int) else font_manager.weight_dict.get(weight, 400)
