"""How to prove it on the finished site: how many walks show the requirement, and what they do not show."""

from __future__ import annotations

from dataclasses import dataclass

from fencecast.estimate.walktest import walks_needed
from fencecast.findings.run import noise_sentence
from fencecast.findings.words import confidence_text, requirement_text
from fencecast.report.sections.section import Body, Source


@dataclass(frozen=True)
class Prove:
    """Paragraphs."""

    lines: tuple[str, ...]


def prove_of(source: Source) -> Body:
    """Exact numbers of walks for the requirement, and how often a good fence fails such a test."""
    results = source.results
    need, sure = results.requirement, confidence_text(results.confidence)
    walks = [walks_needed(need, results.confidence, misses) for misses in (0, 1, 2)]
    better = 1.0 - 0.5 * (1.0 - need)
    fails = 1.0 - better ** walks[0]
    finding = (
        f"{walks[0]:,} {'walk' if walks[0] == 1 else 'walks'} without a miss show {requirement_text(need)} at {sure}; "
        f"{walks[1]:,} with one miss, {walks[2]:,} with two."
    )
    lines = [
        "One-sided exact binomial test. The number is for each claim: walks at one place prove nothing of another, and walks on "
        "a clear night nothing of fog. Fix the number of walks before the first one, and count every walk.",
        f"A fence that misses half of what is allowed, a true Pd of {requirement_text(better)}, fails a test of {walks[0]:,} "
        f"walks without a miss {_of_ten(fails)}: agree the allowed misses before the test, not after it.",
    ]
    if "noise_alarms_per_day" in results:
        lines.append(
            f"{noise_sentence(results)} How often the alarm goes for nothing is not predicted here and is learnt in a trial "
            "period on site."
        )
    return Body("How to prove it on the finished site", finding, Prove(tuple(lines)))


def _of_ten(share: float) -> str:
    """`in 77 of 100 tests`."""
    return f"in {100.0 * share:.0f} of 100 tests"
