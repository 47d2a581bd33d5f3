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
    return f"{first} and {rows[1].design} rank first and are not distinguishable over {words}"


def ranks_title(
    usual: tuple[str, Sequence[Standing]], others: Sequence[tuple[str, Sequence[Standing]]], confidence: float
) -> str:
    """Whether the ranking of the class with the most hours stays in the others; the first class in which it does not is named.

    usual, others: name of a weather class and its designs by rank.
    """
    name, rows_usual = usual
    if len(rows_usual) < 2:
        return "No ranking: too few designs with a layout"
    best = rows_usual[0].design
    if not others:
        return f"{first_upper(name)}: {best} ranks first"
    for other, rows in others:
        if rows[0].design != best:
            words = f"{rows[0].design} ranks first instead of {best}"
            sure = distinguishable(rows[0], confidence)
            return f"{first_upper(other)}: {words}" + ("" if sure else f", not distinguishable from {rows[1].design}")
    order = [row.design for row in rows_usual]
    for other, rows in others:
        if [row.design for row in rows] != order:
            return f"{first_upper(other)}: {best} stays first, the order behind it changes"
    where = "the other weather" if len(others) > 1 else others[0][0]
    return f"{first_upper(where)}: the same ranking as in {name}, {best} stays first"


def front_title(mean: np.ndarray, designs: Sequence[str], amounts: np.ndarray, words: Sequence[str], need: float) -> str:
    """Which designs reach a mean Pd of the requirement over the year at the least amount at which one does, or that none does.

    mean: mean Pd over yards (allowance, design), NaN without a layout; amounts, words: each allowance as a number and in words.
    """
    for allowance in np.argsort(amounts, kind="stable"):
        reach = np.flatnonzero(mean[allowance] >= need)
        if len(reach):
            best = int(np.nanargmax(mean[allowance]))
            name, where = designs[best], words[int(allowance)]
            if len(reach) == 1:
                return f"{first_upper(name)} alone reaches a mean Pd of {requirement_text(need)} at {where}"
            count = first_upper(plural(len(reach), "design"))
            highest = pd_text(float(mean[allowance, best]))
            return f"{count} reach a mean Pd of {requirement_text(need)} at {where}, {name} the highest: {highest}"
    return f"No design reaches a mean Pd of {requirement_text(need)} at what was allowed"
