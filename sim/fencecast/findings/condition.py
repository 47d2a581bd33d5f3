"""A run on chosen hours of a weather year (`run --stress CONDITION`): what every picture says of them."""

from __future__ import annotations

import re

LONGEST_IN_A_TITLE = 34  # characters; a longer condition stands in the line below the title only


def condition_of(attrs) -> str:
    """The condition that the run's hours meet, as it was typed; '' for a run on all armed hours."""
    return " ".join(str(attrs.get("stress", "")).split())


def only_words(attrs) -> tuple[str, str, str]:
    """The line under a picture's title in three parts, of which the middle one, the condition, may be shortened.

    `Only hours with `, `visibility_m<=100`, ` (21 of 4,344 armed hours a year)`; three empty parts without a condition.
    """
    condition = condition_of(attrs)
    if not condition:
        return "", "", ""
    counts = re.match(r"Stress: (.+? of .+? armed hours .+?) have ", str(attrs.get("stress_words", "")))
    return "Only hours with ", condition, f" ({counts[1]})" if counts else ""


def whole_words(attrs) -> str:
    """The whole condition for the foot, with a place to break a line at every parenthesis."""
    condition = re.sub(r"\)(?=[^\s)])", ") ", re.sub(r"(?<=[^\s(])\(", " (", condition_of(attrs)))
    return f"The condition in full: {condition}"


def of_hours(attrs, hours: str) -> str:
    """`21 armed hours a year` with the condition behind it, where there is one."""
    condition = condition_of(attrs)
    if not condition:
        return hours
    return f"{hours} with {condition}" if len(condition) <= LONGEST_IN_A_TITLE else f"{hours} that meet the condition"
