"""Sentences that both editions say: made from plain numbers and texts, so that none of them can name a place or a camera.

Nothing here may take results, a site, a place, a camera or a section as an argument.
"""

from __future__ import annotations

from collections.abc import Sequence

from fencecast.estimate.walktest import walks_needed
from fencecast.findings.words import confidence_text, interval_text, metres_text, requirement_text, whole

# Who signs, and what it means.
ROLES = ("Owner", "Designer", "Reviewer")
SIGNING = "Signing means: read. It accepts no weak place."

WEATHER_CLASS = "One kind of weather with its hours, and everything that varies within it."
_LEARNT = "How often the alarm goes for nothing is not predicted here and is learnt in a trial period on site."
_MEASURED = "How often the alarm goes for nothing is predicted from rates; a trial period on site measures it."


def learnt(asked: bool) -> str:
    """What a trial period is for; asked: whether the results count nuisance alarms."""
    return _MEASURED if asked else _LEARNT


def meets_lines(meets_m: float, total_m: float, classes: int, units: str) -> list[str]:
    """How much of the fence meets the requirement in every counted class, a sentence; none when all of it does.

    meets_m, total_m: metres that meet in every class, and metres simulated; classes: how many count.
    """
    every = "in every kind of weather" if classes > 1 else "in it"
    if meets_m < 0.5:
        return [f"No metre meets the requirement {every}."]
    if total_m - meets_m < 0.5:
        return []
    verb = "meets" if whole(meets_m) == "1" else "meet"
    return [f"{metres_text(meets_m, units)} of {metres_text(total_m, units)} {verb} the requirement {every}."]


def many_in_100(shares: Sequence[float]) -> str:
    """`about 18 to 22 in 100`, `about 20 in 100`, `fewer than 1 in 100` of the shares of some classes [fractions]."""
    low, high = (round(100.0 * share) for share in (min(shares), max(shares)))
    if high < 1:
        return "fewer than 1 in 100"
    if low < 1:
        return f"at most about {high} in 100"
    return f"about {low} in 100" if low == high else f"about {low} to {high} in 100"


def open_words(calibrated: bool) -> str:
    """Why a metre is undecided; calibrated: N50 is from walks."""
    return "walks and crossings leave it open" if calibrated else "too few crossings were simulated to tell"


def pd_meaning(requirement: float, of: str) -> str:
    """What Pd is, for the list of words. of: the requirement as a count, `90 in 100`."""
    return f"The probability that one crossing of the fence raises an alarm. {requirement_text(requirement)}: {of} crossings."


def interval_meaning(confidence: float, nuisance: bool = False, calibrated: bool = False) -> str:
    """What an interval is, for the list of words; nuisance: whether the results count nuisance alarms; calibrated: N50 is from
    walks."""
    sure = confidence_text(confidence)
    rates = " Of nuisance alarms: what the rates may be off by, too." if nuisance else ""
    walks = (
        " It holds what walks on site left open as well; every segment is taken to be one that nobody walked."
        if calibrated
        else ""
    )
    return (
        f"{interval_text(0.53, 0.52, 0.55)}: the simulated number, and the range that holds the model's own number at {sure} "
        f"confidence.{walks}{rates}"
    )


def verdict_meanings(requirement: float, nuisance: bool = False, calibrated: bool = False) -> dict[str, str]:
    """What weak, undecided and meets are, for the list of words, in this order; nuisance: whether the results count nuisance
    alarms; calibrated: N50 is from walks."""
    need, log = requirement_text(requirement), "; of a ceiling of alarms, a log on site" if nuisance else ""
    walks = ", or more walks on site," if calibrated else ""
    return {
        "weak": f"The complete interval of a metre lies below {need}.",
        "undecided": f"It lies across {need}: more crossings{walks} would tell{log}.",
        "meets": f"It lies above {need}, in this model.",
    }


def walks_finding(requirement: float, confidence: float) -> str:
    """`29 walks for each place and each kind of weather that is to be shown, without a miss, show Pd 0.90 at 95 % there; ...`."""
    none, one, two = (walks_needed(requirement, confidence, misses) for misses in (0, 1, 2))
    show = "shows" if none == 1 else "show"
    return (
        f"{_walks(none)} for each place and each kind of weather that is to be shown, without a miss, {show} Pd "
        f"{requirement_text(requirement)} at {confidence_text(confidence)} there; {one:,} with one miss, {two:,} with two."
    )


def walks_lines(requirement: float, confidence: float) -> tuple[str, ...]:
    """What the number of walks is for, and how often a good fence fails such a test."""
    none = walks_needed(requirement, confidence)
    better = 0.5 * (1.0 + requirement)
    fails = 100.0 * (1.0 - better**none)
    return (
        "One-sided exact binomial test. The number is no total: walks at one place prove nothing of another, and walks on a "
        "clear night nothing of fog. Fix the number of walks before the first one, and count every walk.",
        f"A fence that misses half of what is allowed, a true Pd of {requirement_text(better)}, fails a test of {_walks(none)} "
        f"without a miss in {fails:.0f} of 100 tests: agree the allowed misses before the test, not after it.",
    )


def _walks(count: int) -> str:
    return f"{count:,} {'walk' if count == 1 else 'walks'}"
