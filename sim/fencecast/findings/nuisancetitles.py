"""Titles and subtitles of the pictures of nuisance alarms: findings made from their numbers."""

from __future__ import annotations

import math
from collections.abc import Sequence

from fencecast.findings.nuisance import BODY, Nuisance
from fencecast.findings.nuisancewords import bad_night_words, cause_name, causes_words, interval_words, rate_words
from fencecast.findings.words import listed

LEAST_SHOWN = 0.005  # alarms a night that are worth a word
MOST_LETTERS = 135  # of a title: two lines in bold


def nights_title(found: Nuisance) -> str:
    """`Nuisance alarms: 5.1 a night (3.1 to 11); 19 nights in 20 have 15 or fewer; most from cats (44 %)`, or as much of it as
    fits."""
    if math.isnan(found.per_night):
        return "Nuisance alarms: no hours, so no number for the year"
    start = f"Nuisance alarms: {interval_words(found.per_night, found.low, found.high, 'a night')}"
    bad, causes = bad_night_words(found.bad_night), causes_words(found)
    full = [part for part in (start, bad, causes) if part]
    titles = ["; ".join(full), "; ".join([start, bad]), start]
    return next(title for title in titles if len(title) <= MOST_LETTERS or title is start)


def nights_subtitle(classes: int, most: int) -> str:
    """What is drawn."""
    text = "Alarms a night that no intruder raised, by cause; each weather class as if all of the night were of it"
    return f"{text}. The worst {most} of {classes} classes" if classes > most else text


def plan_title(busiest: Sequence[tuple[str, float]], passing: bool) -> str:
    """`Most nuisance alarms at B 58–68 m, up to 6.1 per 100 m and night`; busiest: places with alarms per 100 m and night."""
    if not passing:
        return "Nothing that passes the fence is among the stimuli: their alarms have no place on it"
    if not busiest:
        return "Nothing that passes the fence raises a nuisance alarm"
    (code, most), *others = busiest
    start = f"Most nuisance alarms at {code}, up to {rate_words(most)} per 100 m and night"
    return f"{start}; then {others[0][0]}, up to {rate_words(others[0][1])}" if others else start


def plan_subtitle(year: str, found: Nuisance) -> str:
    """What is drawn, and what no place of the fence can be given, by its most frequent causes."""
    text = f"Alarms per 100 m of fence and night, {year} by hours, from what passes it"
    placeless = [cause for cause in found.causes if cause.family != BODY]
    total = sum(cause.per_night for cause in placeless)
    if total < LEAST_SHOWN:
        return text
    named = listed([cause_name(cause) for cause in placeless if cause.per_night >= LEAST_SHOWN][:3])
    return f"{text}; {rate_words(total)} a night more have no place on it, most from {named}"
