"""A run on chosen hours of a weather year (`run --stress CONDITION`): what console and pictures say of them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fencecast.findings.words import whole
from fencecast.meteorology.year import LEAST_YEARS

LONGEST_IN_A_TITLE = 34  # characters; a longer condition stands in the line below the title only


def condition_of(attrs: Mapping[str, Any]) -> str:
    """The condition that the run's hours meet, as it was typed; '' for a run on all armed hours."""
    return " ".join(str(attrs.get("stress", "")).split())


def _counts(attrs: Mapping[str, Any]) -> str:
    """`21 of 4,344 armed hours a year`."""
    span = "a year" if float(attrs.get("period_years", 1.0)) >= LEAST_YEARS else "of the record"
    return f"{whole(float(attrs['stress_hours']))} of {whole(float(attrs['stress_of_hours']))} armed hours {span}"


def stress_sentence(attrs: Mapping[str, Any]) -> str:
    """What the console says of chosen hours; '' for a run on all armed hours."""
    condition = condition_of(attrs)
    if not condition:
        return ""
    rest = "the year" if float(attrs.get("period_years", 1.0)) >= LEAST_YEARS else "all of the record"
    return f"Stress: {_counts(attrs)} have {condition}; every number below is about these hours alone, not about {rest}."


def only_words(attrs: Mapping[str, Any]) -> tuple[str, str, str]:
    """The line under a picture's title in three parts, of which the middle one, the condition, may be shortened.

    `Only hours with `, `visibility_m<=100`, ` (21 of 4,344 armed hours a year)`; three empty parts without a condition.
    """
    condition = condition_of(attrs)
    return ("Only hours with ", condition, f" ({_counts(attrs)})") if condition else ("", "", "")


def whole_words(attrs: Mapping[str, Any]) -> str:
    """The condition in full for the foot, with a place to break a line at every parenthesis."""
    condition = condition_of(attrs).replace("(", " (").replace(")", ") ")
    return "The condition in full: " + " ".join(condition.split()).replace("( (", "((").replace(") )", "))")


def of_hours(attrs: Mapping[str, Any], hours: str) -> str:
    """`21 armed hours a year` with the condition behind it, where there is one."""
    condition = condition_of(attrs)
    if not condition:
        return hours
    return f"{hours} with {condition}" if len(condition) <= LONGEST_IN_A_TITLE else f"{hours} that meet the condition"
