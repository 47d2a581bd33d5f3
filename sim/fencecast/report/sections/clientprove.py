"""Client edition, how to prove it: walks that show the requirement, and alarms from noise alone, without a camera's mark."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fencecast.estimate.results import Results
from fencecast.estimate.walktest import walks_needed
from fencecast.findings.words import confidence_text, requirement_text
from fencecast.report.sections.section import Body, Source

_LEAST_RATE = 0.001  # alarms a day, below which a rate is not told


@dataclass(frozen=True)
class ClientProve:
    """Paragraphs."""

    lines: tuple[str, ...]


def prove_of(source: Source) -> Body:
    """Exact numbers of walks for the requirement, and how often a good fence fails such a test."""
    results = source.results
    need, sure = results.requirement, confidence_text(results.confidence)
    none, one, two = (walks_needed(need, results.confidence, misses) for misses in (0, 1, 2))
    better = 0.5 * (1.0 + need)
    fails = 1.0 - better**none
    finding = f"{none:,} walks without a miss show {requirement_text(need)} at {sure}; {one:,} with one miss, {two:,} with two."
    lines = (
        "One-sided exact binomial test. The number is for each claim: walks at one place prove nothing of another, and walks on "
        "a clear night nothing of fog. Fix the number of walks before the first one, and count every walk.",
        f"A fence that misses half of what is allowed, a true Pd of {requirement_text(better)}, fails a test of {none:,} walks "
        f"without a miss in {100.0 * fails:.0f} of 100 tests: agree the allowed misses before the test, not after it.",
        noise_line(results),
    )
    return Body("How to prove it on the finished site", finding, ClientProve(lines))


def noise_line(results: Results) -> str:
    """`Alarms from sensor noise alone, each camera and day: at most 0.02.`"""
    most = float(np.max(results["noise_alarms_per_day"].values))
    amount = f"below {_LEAST_RATE:g}" if most < _LEAST_RATE else f"at most {most:.3g}"
    return (
        f"Alarms from sensor noise alone, each camera and day: {amount}. No animals, no weather, no people of your own: how "
        "often the alarm goes for nothing is not predicted here and is learnt in a trial period on site."
    )
