"""Weak hours in words and as an object of --json: how many, where, in which month and between which hours of the clock."""

from __future__ import annotations

import numpy as np

from fencecast.estimate.places import code_of, touching
from fencecast.estimate.results import Results
from fencecast.estimate.weakest import touching_sets
from fencecast.findings.words import confidence_text, metres_text, requirement_text, whole
from fencecast.hours.weakhours import meets_at_best, named_segment, pd_of_hours
from fencecast.meteorology.stress import clock_of
from fencecast.meteorology.year import LEAST_YEARS

MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December",
)  # fmt: skip
# The hours of the clock that are named have at least this share of their month's weak hours, in less than the same share of the
# clock hours that are armed: where weak hours lie evenly over the night, its half says nothing.
_CLOCK_SHARE = 0.5
# Sun on clothing is not modelled: it matters from this height of the sun, and is said from this share of the hours (judgement).
SUNNY_DEG, _SUNNY_SHARE = 10.0, 0.01


def hour_numbers(results: Results, segment: int) -> tuple[float, float, float, bool]:
    """Weak hours of a segment a year with both ends, and whether they are from fresh crossings, as a chosen segment's must be."""
    results = Results.of(results)
    if "weak_hours_fresh" in results and not np.isnan(results.at("weak_hours_fresh", segment=segment)):
        hours, low, high = (float(results.at(f"weak_hours_fresh{end}", segment=segment)) for end in ("", "_low", "_high"))
        return hours, low, high, True
    hours, low, high = (float(results.at(f"weak_hours{end}", segment=segment)) for end in ("", "_low", "_high"))
    return hours, low, high, False


def worst_time(results: Results, segment: int) -> tuple[int, int | None, int | None] | None:
    """Month (1 to 12) with most weak hours of a segment, and the shortest stretch of clock hours (from, to) with at least half
    of that month's; both None where they lie about evenly over its armed clock hours. None without weak hours."""
    results = Results.of(results)
    pd = pd_of_hours(results, segment)
    weak = np.nan_to_num(pd, nan=1.0) < results.requirement
    if not weak.any():
        return None
    month, clock = clock_of(results["hour_time"].values)
    most = int(np.bincount(month[weak], minlength=13).argmax())
    by_clock = np.bincount(clock[weak & (month == most)], minlength=24)
    armed = len(np.unique(clock[~np.isnan(pd) & (month == most)]))
    twice = np.concatenate([[0], np.cumsum(np.tile(by_clock, 2))])
    for length in range(1, 25):
        weak_there = twice[length : length + 24] - twice[:24]
        if length >= _CLOCK_SHARE * armed:
            break
        if weak_there.max() >= _CLOCK_SHARE * by_clock.sum():
            first = int(weak_there.argmax())
            return most, first, (first + length) % 24
    return most, None, None


def time_words(worst: tuple[int, int | None, int | None] | None) -> str:
    """`most in November, half of those between 03:00 and 07:00 (standard time)`: by the record's clock, which knows no summer
    time."""
    if worst is None:
        return ""
    month, first, last = worst
    if first is None:
        return f"most in {MONTHS[month - 1]}"
    return f"most in {MONTHS[month - 1]}, half of those between {first:02d}:00 and {last:02d}:00 (standard time)"


def never_met(results: Results) -> list[str]:
    """Codes of the stretches that meet the requirement in no state of the weather; they are weak or undecided in every hour."""
    results = Results.of(results)
    sections = results.sections
    after, before = touching(sections)
    mask = ~meets_at_best(results) & ~np.isnan(results["weak_hours"].values)
    return [code_of(results, sections, part[0], part[-1]) for part in touching_sets(mask, after, before)]


def sunny_share(results: Results) -> float:
    """Share of the hours that count in which the sun is above `SUNNY_DEG`; 0 where it is too small to matter."""
    results = Results.of(results)
    counted = results["hour_armed"].values & results["hour_known"].values
    share = float(np.mean(results["hour_sun_elevation_deg"].values[counted] > SUNNY_DEG))
    return share if share >= _SUNNY_SHARE else 0.0


def weak_hours_summary(results: Results) -> dict:
    """The object of --json: the weakest segment of those that meet the requirement at times, and stretches that never do."""
    sections = results.sections
    segment = named_segment(results)
    never = never_met(results)
    mask = ~meets_at_best(results) & ~np.isnan(results["weak_hours"].values)
    named = None
    if segment is not None:
        hours, low, high, fresh = hour_numbers(results, segment)
        worst = worst_time(results, segment)
        named = {
            "segment": segment,
            "place": code_of(results, sections, segment, segment),
            "hours": hours,
            "hours_low": low,
            "hours_high": high,
            "fresh": fresh,
            "month": worst and worst[0],
            "clock_from": worst and worst[1],
            "clock_to": worst and worst[2],
        }
    counted = results["hour_armed"].values & results["hour_known"].values
    return {
        "record_years": float(counted.sum() / max(float(results["known_armed_hours"].values), 1e-9)),
        "armed_hours": float(results["armed_hours"].values),
        "known_armed_hours": float(results["known_armed_hours"].values),
        "requirement": results.requirement,
        "confidence": results.confidence,
        "states": int(results.sizes["state"]),
        "weakest": named,
        "never_met": never,
        "never_met_m": float(results.lengths_m[mask].sum()),
        "anywhere": {f"hours{end}": float(results[f"weak_hours_any{end}"].values) for end in ("", "_low", "_high")},
    }


def weak_hours_words(results: Results) -> list[str]:
    """Sentences for the report, the first about stretches that never meet it (if any), then the weakest of the rest."""
    found = weak_hours_summary(results)
    need = requirement_text(found["requirement"])
    years = found["record_years"]
    per, span = (1.0, "a year") if years >= LEAST_YEARS else (years, "of the record")
    unknown = per * (found["armed_hours"] - found["known_armed_hours"])
    of_hours = f"{whole(per * found['known_armed_hours'])} armed hours {span}"
    named, never = found["weakest"], found["never_met"]
    if named is None:
        return ["No rule watches any section: no hour has a Pd."]
    sentences = []
    if never:
        places = ", ".join(never[:3]) + (f" and {len(never) - 3} more" if len(never) > 3 else "")
        metres = metres_text(found["never_met_m"], results.units)
        sentences.append(f"{metres} of fence are not shown to meet the requirement in any weather of the record: {places}.")
    all_never = bool(never) and not meets_at_best(results)[named["segment"]]
    subject = "The weakest segment" if not never or all_never else "Of the rest, the weakest segment"
    ends = f"{whole(per * named['hours_low'])} to {whole(per * named['hours_high'])}"
    sure = f"{confidence_text(found['confidence'])} interval {ends}"
    hours = per * named["hours"]
    if hours < 0.5:
        sentences.append(f"{subject}, {named['place']}, is not below {need} in any of {of_hours} ({sure}).")
    else:
        when = time_words(worst_time(results, named["segment"]))
        when = f", {when}." if when else "."
        sentences.append(f"{subject}, {named['place']}, is below {need} in {whole(hours)} of {of_hours} ({sure}){when}")
    if unknown >= 0.5:
        sentences.append(
            f"{whole(unknown)} more armed hour{' is' if whole(unknown) == '1' else 's are'} unknown, because the record has "
            "gaps, and not counted."
        )
    by_day = sunny_share(results)
    if by_day > 0.0:
        # 300 W/m2 that clothing takes up make it 8 to 9 K warmer by the heat balance of `physics.surfaces`, wind 2 m/s.
        sentences.append(
            f"In {100.0 * by_day:.0f} % of these hours the sun is above {SUNNY_DEG:g} degrees. Sun on clothing, up to some 8 K, "
            "is left out: people by day are simulated too cold, and before warm ground they stand out more than they would."
        )
    return sentences
