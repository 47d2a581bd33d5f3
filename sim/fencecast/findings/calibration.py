"""What is said of a site that walks have calibrated: what its numbers rest on, what its two bands are, what no walk has shown."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from fencecast.estimate.results import Results
from fencecast.findings.blocks import NOTE, Block, Line
from fencecast.findings.words import confidence_text, in_class, interval_text, listed
from fencecast.site import Site

_MOST_DATES = 3
_MEDIAN_OFF = 0.02  # of N50: more than this is no rounding
# What another command says of a calibrated file.
USES_DECISION = "this command uses N50 and correlation of [decision]; what the walks left open is in fencecast run alone"

# Words that only a report on a calibrated site uses.
WALKED_WORDS = (
    ("N50", "How many light and dark pairs the picture must resolve on a body for half of all encounters to be "
     "classified; more is harder."),
    ("Correlation", "How alike two cameras judge one intruder, from 0 (each by itself) to 1 (both miss the same people)."),
    ("Calibrated", "N50 and correlation are from walks on the finished site, with what those walks left open."),
    ("p", "How often chance alone would give a result at least as far off, were the prediction right; small: it does not fit."),
)  # fmt: skip


def calibration_of(attrs: Any) -> dict[str, Any] | None:
    """The facts of a calibrated run; None for results that rest on no walks."""
    text = attrs.get("calibration")
    return json.loads(str(text)) if text else None


def rests_on_rehearsal(attrs: Any) -> bool:
    """The results are calibrated by walks that nobody walked."""
    return bool((calibration_of(attrs) or {}).get("rehearsal"))


def calibrated_line(facts: dict[str, Any]) -> str:
    """`Calibrated by 36 walks of 2 people at 6 places on 2026-11-29 in clear night: N50 2.6 (...), ...`"""
    walks, places, walkers = (int(facts[key]) for key in ("walks", "places", "walkers"))
    end = f"{n50_words(facts)}; {correlation_words(facts)}."
    if facts.get("rehearsal"):
        return (
            f"Calibrated by {walks:,} simulated walk{'' if walks == 1 else 's'} (a rehearsal: nobody walked) at {places} "
            f"place{'' if places == 1 else 's'} {weather_words(facts['weather'])}: {end}"
        )
    return (
        f"Calibrated by {walks:,} walk{'' if walks == 1 else 's'} of {walkers} {'person' if walkers == 1 else 'people'} at "
        f"{places} place{'' if places == 1 else 's'} {dates_words(facts['dates'])} {weather_words(facts['weather'])}: "
        f"{end}"
    )


def n50_words(facts: dict[str, Any]) -> str:
    """`N50 2.6 (2.1 to 3.3 for people in general)`, one end alone where no miss, or no alarm, says the other.

    Wider than `walk fit` has it for those who walked.
    """
    high, low = (f"{facts[key]:.2f}" for key in ("cycles_50_high", "cycles_50_low"))
    middle = f"{facts['cycles_50']:.1f} ({facts['cycles_50_low']:.1f} to {facts['cycles_50_high']:.1f} for people in general)"
    above, below = (bool(facts.get(key)) for key in ("only_from_above", "only_from_below"))
    if above and below:
        return f"these walks do not say what N50 is, {middle} is the judgement before them"
    if above:
        return f"N50 at most {high}, no miss says more: below that a judgement, with {facts['cycles_50']:.1f} in the middle"
    if below:
        return f"N50 at least {low}, no alarm says more: above that a judgement, with {facts['cycles_50']:.1f} in the middle"
    return f"N50 {middle}"


def n50_short(facts: dict[str, Any]) -> str:
    """For a title: `N50 2.6`, `N50 at most 1.33`, `N50 at least 4.10`, `an N50 that walks do not say`."""
    above, below = (bool(facts.get(key)) for key in ("only_from_above", "only_from_below"))
    if above and below:
        return "an N50 that walks do not say"
    if above or below:
        return f"N50 at {'most' if above else 'least'} {facts['cycles_50_high' if above else 'cycles_50_low']:.2f}"
    return f"N50 {facts['cycles_50']:.1f}"


def correlation_words(facts: dict[str, Any]) -> str:
    """`correlation 0.33 (0.00 to 0.70)`, or that it is hardly known."""
    if facts.get("correlation_hardly_known"):
        return f"correlation hardly known, {facts['encounter_correlation']:.2f} on average"
    return f"correlation {facts['encounter_correlation']:.2f} ({facts['correlation_low']:.2f} to {facts['correlation_high']:.2f})"


def judged_words(facts: dict[str, Any]) -> str:
    """What of N50 is still a judgement; "" where walks say both of its ends."""
    above, below = (bool(facts.get(key)) for key in ("only_from_above", "only_from_below"))
    if above and below:
        return "a judgement still: these walks do not say it"
    if above or below:
        return f"from walks on this site on its {'upper' if above else 'lower'} side alone, the other is a judgement"
    return ""


def dates_words(dates: Sequence[str]) -> str:
    """`on 2026-11-29`, `on 2026-11-29 and 2026-12-03`, `on 5 days from 2026-11-29 to 2027-02-01`."""
    if len(dates) <= _MOST_DATES:
        return f"on {listed(list(dates))}"
    return f"on {len(dates)} days from {min(dates)} to {max(dates)}"


def weather_words(names: Sequence[str]) -> str:
    """`in clear night`, `in clear night and fog`."""
    return in_class(listed(list(names)))


def calibration_lines(results: Results) -> list[Block]:
    """Under the verdict: what the numbers rest on."""
    facts = calibration_of(results.attrs)
    return [] if facts is None else [Line(calibrated_line(facts))]


def band_sentence(confidence: float, facts: dict[str, Any]) -> str:
    """What the intervals of a calibrated run hold."""
    return (
        f"Pd is the mean over what these walks left open, and its {confidence_text(confidence)} interval holds that as well as "
        "what the crossings left open. Two bands: every segment, walked or not, has the band of a place with a shift of its own "
        f"that nobody walked (places differ by {facts['place_spread_ln']:.2f} in ln N50), and verdicts go by it; that of a "
        "class's mean Pd is narrower, because each segment's shift is one of many."
    )


def unwalked_sentence(classes: Sequence[str], facts: dict[str, Any]) -> str:
    """Of weather that nobody walked in; "" when there is none."""
    others = [name for name in classes if name not in facts["weather"]]
    if not others:
        return ""
    named = listed(others) if len(others) <= 3 else f"{len(others)} other classes"
    keep = "keeps" if len(others) == 1 else "keep"
    return (
        f"N50 was walked {weather_words(facts['weather'])} alone; {named} {keep} every other uncertainty "
        "(drop size, window, dress, clutter)."
    )


def rests_sentence() -> str:
    """What no walk can say."""
    return (
        "This N50 holds what the law of resolution gets wrong here, for these walkers, gaits and nights, as walked: nobody "
        "climbed or hid. Walks on a clear night say nothing of the threshold and of clutter."
    )


def other_values_sentence(results: Results) -> str:
    """What of a calibrated run is at the values of [decision] alone."""
    parts = ["how causes share the misses", "slopes", "what was lifted"]
    parts += ["hours below the requirement"] if "pd_state" in results else []
    parts += ["installations"] if "pd_installation" in results else []
    parts += ["losses"] if "pd_loss" in results else []
    parts += ["the change that mends the site"] if results.attrs.get("remedy") else []
    return f"At the values of [decision] alone: {listed(parts)}."


def trust_lines(results: Results) -> list[Block]:
    """How far to trust a calibrated run; none for another."""
    facts = calibration_of(results.attrs)
    if facts is None:
        return []
    texts = [band_sentence(results.confidence, facts), unwalked_sentence(results.classes, facts), rests_sentence()]
    return [*(Line(text) for text in texts if text), Line(other_values_sentence(results), NOTE)]


def fence_text(results: Results, row: int) -> str:
    """Mean Pd of a class with its interval, each segment with a shift of its own; "" for a run without."""
    if "pd_fence" not in results:
        return ""
    pd, low, high = (float(results.at(f"pd_fence{end}", weather=row)) for end in ("", "_low", "_high"))
    return interval_text(pd, low, high)


def calibration_warning(site: Site) -> str:
    """When [decision] was edited after the fit; "" when it agrees with the weights, or without any."""
    table, decision = site.calibration, site.decision
    if table is None:
        return ""
    walked, typed = table.median_cycles_50, float(decision.cycles_50.middle())
    wrong = []
    if abs(typed / walked - 1.0) > _MEDIAN_OFF:
        wrong.append(f"cycles_50 is {typed:.3g} and the median of the weights {walked:.3g}")
    mean, correlation = table.mean_correlation, float(decision.encounter_correlation.middle())
    if abs(correlation - mean) > 0.03:
        wrong.append(f"encounter_correlation is {correlation:.2g} and the mean of the weights {mean:.2g}")
    if not wrong:
        return ""
    return (
        f"[decision] was changed after the walks: {'; '.join(wrong)}. Pd goes by the weights of [calibration]; causes, slopes "
        "and every other command go by [decision]. Type the value of the weights, or leave [calibration] out"
    )
