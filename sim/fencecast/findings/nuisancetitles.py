"""Titles and subtitles of the pictures of nuisance alarms: findings made from their numbers."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from fencecast.findings.nuisance import BODY, Nuisance
from fencecast.findings.nuisancewords import bad_night_words, cause_name, causes_words, interval_words, rate_words
from fencecast.findings.words import listed

LEAST_SHOWN = 0.005  # alarms a night that are worth a word
MOST_LETTERS = 135  # of a title: two lines in bold


def nights_title(found: Nuisance) -> str:
    """`Nuisance alarms: 5.1 a night (3.1 to 11); 19 nights in 20 have 15 (9 to 32) or fewer; most from cats (44 %)`, or as much
    of it as fits."""
    if math.isnan(found.per_night):
        return "Nuisance alarms: no hours, so no number for the year"
    start = f"Nuisance alarms: {interval_words(found.per_night, found.low, found.high, 'a night')}"
    causes = causes_words(found)
    ends, bad = bad_night_words(found.bad_night, found.bad_low, found.bad_high), bad_night_words(found.bad_night)
    full = ["; ".join([start, said, causes]) for said in (ends, bad) if causes]
    titles = [*full, "; ".join([start, ends]), "; ".join([start, bad]), start]
    return unbroken(next(title for title in titles if len(title) <= MOST_LETTERS or title is start))


def unbroken(text: str) -> str:
    """The text with blanks between number and unit at which no line ends: `44 %`, `B 2–20 m`."""
    return re.sub(r"(?<=\d) (?=(?:m|%)(?!\w))", "\N{NO-BREAK SPACE}", text)


def nights_subtitle(classes: int, most: int) -> str:
    """What is drawn."""
    text = "Alarms a night that no intruder raised, by cause; each weather class as if all of the night were of it"
    return f"{text}. The worst {most} of {classes} classes" if classes > most else text


def plan_title(found: Nuisance, passing: float, busiest: Sequence[tuple[str, float]]) -> str:
    """`Of 3.1 nuisance alarms a night 1.3 come from what passes the fence: 0.52 of them at B 2–20 m`; passing: alarms a night of
    what passes; busiest: places with alarms a night."""
    if not any(cause.family == BODY for cause in found.causes):
        return "Nothing that passes the fence is among the stimuli: their alarms have no place on it"
    if not busiest:
        return "Nothing that passes the fence raises a nuisance alarm"
    (code, most), *others = busiest
    total, part = rate_words(found.per_night), rate_words(passing)
    if math.isnan(found.per_night):
        start = f"{part} nuisance alarms a night come from what passes the fence"
    elif part == total or passing > found.per_night:
        start = f"All of the {total} nuisance alarms a night come from what passes the fence"
    else:
        start = f"Of {total} nuisance alarms a night {part} come from what passes the fence"
    title = f"{start}: {rate_words(most)} of them at {code}"
    return unbroken(f"{title}; then {rate_words(others[0][1])} at {others[0][0]}" if others else title)


def plan_subtitle(year: str, found: Nuisance) -> str:
    """What is drawn, and what no place of the fence can be given, by its most frequent causes."""
    text = f"Alarms per 100 m of fence and night, {year} by hours, from what passes it; neighbouring bands may differ by chance"
    placeless = [cause for cause in found.causes if cause.family != BODY]
    total = sum(cause.per_night for cause in placeless)
    if total < LEAST_SHOWN:
        return text
    named = listed([cause_name(cause) for cause in placeless if cause.per_night >= LEAST_SHOWN][:3])
    return f"{text}; {rate_words(total)} a night more have no place on it, most from {named}"
