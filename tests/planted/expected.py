"""What is known of a planted fault beforehand: where, why, in which class, and which words a true sentence has.

Decided from how each yard was made, not from what is printed. `seen` is a record of the day on which the fault was planted: the
lowest Pd of the place in that class without and with the fault (precision 0.03); no test compares it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from planted.base import MILD

Stretch = tuple[str, float, float]  # section, from, to [m]

WEATHER = ("fog", "rain", "snow", "drops", "window", "wet", "soaked", "weather")
SIGNAL = ("clutter", "threshold", "noise", "NETD", "crossover")
SIZE = ("too small", "crawl", "crouch", "stooped", "gait")
TIME = ("too few looks", "too brief", "confirmation")
UNSEEN = ("hidden", "out of frame", "not in view", "blind ground", "mounting error")
RULES = ("no rule", "not armed", "does not hear")

# What a first sentence about a cause may not blame; the fault's own words are taken out of it.
BLAMES_NOTHING_ELSE = {
    "no rule there": WEATHER + SIGNAL + SIZE + TIME + UNSEEN,
    "not in view": WEATHER + SIGNAL + SIZE + TIME + RULES,
    "too small": WEATHER + SIGNAL + TIME + UNSEEN,
    "too brief": WEATHER + SIGNAL + SIZE + UNSEEN,
    "washed out": WEATHER + SIGNAL + SIZE + TIME + UNSEEN + RULES,
}


@dataclass(frozen=True)
class Expected:
    """One place: its stretches, the leading cause, the mildest weak class, words of which one must stand in the sentence."""

    where: tuple[Stretch, ...]
    cause: str
    words: tuple[str, ...]
    seen: tuple[float, float]
    weather: str = MILD
    more_not_words: tuple[str, ...] = ()

    @property
    def not_words(self) -> tuple[str, ...]:
        """Words of other faults, which the first sentence may not contain; the class's own name is no blame."""
        mine = (*self.words, *self.weather.split())
        others = [word for word in BLAMES_NOTHING_ELSE[self.cause] if not any(own in word or word in own for own in mine)]
        return (*others, *self.more_not_words)


def stands_in(word: str, text: str) -> bool:
    """Whether a text has a word or one that begins with it; the mark of a camera (capitals) must match as it is."""
    if word.isupper():
        return re.search(rf"\b{re.escape(word)}\b", text) is not None
    return re.search(rf"\b{re.escape(word)}", text, re.IGNORECASE) is not None


def one(cause: str, words: str, seen: tuple[float, float], *where: Stretch, weather: str = MILD, never: str = "") -> Expected:
    """A place with alternatives separated by "|"; never: words beside those of other causes that may not stand there."""
    return Expected(tuple(where), cause, tuple(words.split("|")), seen, weather, tuple(never.split("|")) if never else ())


# ---------------------------------------------------------------------------------------------- stretches that come again

SOUTH_AND_CORNER = (("south", 12.0, 40.0), ("east", 0.0, 4.0))  # S's share: W sees the first 12 m, E's foot is S's too
NORTH_AND_CORNER = (("north", 12.0, 40.0), ("west", 0.0, 4.0))
WHOLE = (("south", 0.0, 40.0), ("east", 0.0, 25.0), ("north", 0.0, 40.0), ("west", 0.0, 25.0))
