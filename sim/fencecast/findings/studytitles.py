"""Titles of a study's pictures: which design ranks first, whether the ranking stays in other weather, what more cameras buy."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fencecast.findings.standings import Standing, distinguishable, mean_pd_words
from fencecast.findings.words import first_upper, pd_text, plural, requirement_text


def differences_title(rows: Sequence[Standing], yards: int, confidence: float) -> str:
    """`Chain ranks first over 40 yards: mean Pd 0.021 above corner pairs, the next`, or `not distinguishable`.

    rows: the designs by rank over the year; yards: those on which all have a layout.
    """
    if not rows:
        return "No yard has a layout of every design"
    words = f"{yards:,} yard{'s' if yards != 1 else ''}"
    first = first_upper(rows[0].design)
    if len(rows) == 1:
        return f"{first}: mean Pd {mean_pd_words(rows[0].pd)} over {words}"
    if distinguishable(rows[0], confidence):
        return f"{first} ranks first over {words}: mean Pd {rows[0].gap:.3f} above {rows[1].design}, the next"
    return f"{first} has the highest mean Pd over {words}, not distinguishable from {rows[1].design}, the next"


def ranks_title(
    usual: tuple[str, Sequence[Standing]], others: Sequence[tuple[str, Sequence[Standing]]], confidence: float
) -> str:
    """In which weather one design ranks first, distinguishable from the next; two classes with different ones are named.

    usual, others: name of a weather class (the one with the most hours first) and its designs by rank.
    """
    every = [usual, *others]
    if len(usual[1]) < 2:
        return "No ranking: too few designs with a layout"
    sure = [(name, rows[0].design) for name, rows in every if distinguishable(rows[0], confidence)]
    if not sure:
        return "In no weather is the first distinguishable from the next"
    where, best = sure[0]
    for name, design in sure[1:]:
        if design != best:
            return f"{first_upper(name)}: {design} ranks first; {where}: {best}"
    if len(sure) == len(every):
        return f"{first_upper(best)} ranks first in {'every weather class' if len(every) > 1 else where}"
    if len(sure) == 1:
        return f"{first_upper(best)} ranks first in {where}; elsewhere the first is not distinguishable from the next"
    return f"{first_upper(best)} ranks first in {len(sure)} of {len(every)} weather classes; elsewhere not distinguishable"


def front_title(
    mean: np.ndarray, low: np.ndarray, designs: Sequence[str], amounts: np.ndarray, words: Sequence[str], need: float
) -> str:
    """Which designs reach a mean Pd of the requirement at the least amount at which the interval of one lies above it.

    mean, low: mean Pd over yards and the lower end of its interval (allowance, design), NaN without a layout; amounts, words:
    each allowance as a number and in words.
    """
    pd = requirement_text(need)
    for allowance in np.argsort(amounts, kind="stable"):
        reach = np.flatnonzero(low[allowance] >= need)
        where = f"at most {words[int(allowance)]}"
        if len(reach) == 1:
            others = np.delete(2.0 * mean[allowance] - low[allowance], reach[0])  # upper ends
            alone = "alone " if (others < need).any() and not (others >= need).any() else ""
            return f"{first_upper(designs[reach[0]])} {alone}reaches a mean Pd of {pd} with {where}"
        if len(reach):
            best = int(reach[np.argmax(mean[allowance][reach])])
            highest = pd_text(float(mean[allowance, best]))
            return f"{first_upper(plural(len(reach), 'design'))} reach a mean Pd of {pd} with {where}; {designs[best]}: {highest}"
    if (mean >= need).any():
        return f"Nothing allowed is sure to reach a mean Pd of {pd}: no interval lies above it"
    return f"No design reaches a mean Pd of {pd} with what was allowed"
