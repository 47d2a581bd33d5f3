"""The weakest places of a fence: touching weak segments, cut where the cause of the misses changes, each entered once.

A place is diagnosed in the mildest class in which it is weak (`estimate.diagnosis`); what the worst class makes of it is said
beside it. All numbers of a place are those of one segment in one class.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fencecast.estimate.diagnosis import Diagnosis, counted_classes, cut_by_cause, diagnose, widespread_classes
from fencecast.estimate.intervals import verdict
from fencecast.estimate.places import Section, code_of, segment_lengths, touching
from fencecast.estimate.results import AnyResults, Results

# So many places are named, and run again on fresh crossings because they are.
NAMED_PLACES = 5
VALLEY_APART_M = 10.0  # lowest places of a fence without weak ones lie at least this far apart
VALLEY_DEPTH = 0.05  # and hold the segments within this, or half way to the section's median, of their lowest Pd
MUCH_WORSE = 0.05  # a worse class is said beside a place from this much lower Pd on


@dataclass(frozen=True)
class Worse:
    """What the worst class makes of a place: the class, its index, the segment, Pd as printed and its leading cause there."""

    weather: str
    weather_index: int
    segment: int
    pd: float
    cause: str | None


@dataclass(frozen=True)
class Place:
    """One place, described by one cell: `segment`, its lowest in `weather`, the mildest class in which the place is weak.

    code: place code of its touching segments. valley: a dip of Pd, named because nothing is weak; its class is the worst one.
    pd, low, high: the cell's numbers, from fresh crossings when the results hold them (`fresh`), because the lowest of many
    estimates is too low by selection. cause, cause_share: the cell's leading cause and its share of the cell's misses, None when
    misses are too few to tell. weak_m: metres of the place that are weak in that class, of length_m. at: place code of the
    segment. worse: the worst class, where its Pd is lower by more than `MUCH_WORSE`. weak_in: names of the classes in which any
    of its segments is weak; weak_hours: their hours per year. widespread: the class is weak over more than half of the fence.
    """

    code: str
    section: str
    segments: tuple[int, ...]
    segment: int
    chainage_m: float
    weather: str
    weather_index: int
    pd: float
    low: float
    high: float
    fresh: bool
    verdict: str
    cause: str | None
    cause_share: float | None
    weak_in: tuple[str, ...]
    weak_hours: float
    at: str
    length_m: float
    weak_m: float
    worse: Worse | None = None
    widespread: bool = False
    valley: bool = False


def weak_places(results: AnyResults) -> list[Place]:
    """Every weak place, the lowest Pd over the year first; empty when nothing is weak in a class with hours.

    Found once for each `Results`: pictures and sentences of one job ask for them again and again.
    """
    return list(Results.of(results).weak_places)


def find_weak_places(results: Results) -> list[Place]:
    """What `Results.weak_places` keeps."""
    sections = results.sections
    after, before = touching(sections)
    found, widespread = diagnose(results), set(widespread_classes(results))
    places = []
    for part in touching_sets(found.weak, after, before):
        for cause, run in cut_by_cause(results, found, part):
            row, segment = _cell(results, found, cause, run)
            places.append(_place(results, sections, row, segment, run, widespread=row in widespread))
    year = results.array("pd_year", "segment")
    return sorted(places, key=lambda place: (float(np.min(year[list(place.segments)])), place.pd))


def _cell(results: Results, found: Diagnosis, cause: int, run: list[int]) -> tuple[int, int]:
    """Of a stretch the lowest segment with its cause, in the mildest class in which any of those is weak, and that class."""
    own = [segment for segment in run if found.cause[segment] == cause]
    row = next(row for row in found.mild if any(found.row[segment] == row for segment in own))
    pd = results.array("pd", "weather", "segment")[row]
    return row, min((segment for segment in own if found.row[segment] == row), key=lambda segment: pd[segment])


def lowest_places(results: AnyResults, count: int = NAMED_PLACES) -> list[Place]:
    """The `count` weakest places; without weak ones, the valleys of the worst class's Pd."""
    results = Results.of(results)
    return weak_places(results)[:count] or _valleys(results, count)


def everywhere_weak(results: AnyResults, place: Place) -> bool:
    """Whether a place is weak in every counted class."""
    return len(place.weak_in) == len(counted_classes(results))


def _valleys(results: Results, count: int) -> list[Place]:
    sections = results.sections
    counted = counted_classes(results)
    pd = np.where(np.isnan(results["pd"].values), np.inf, results["pd"].values)[counted]
    lengths = segment_lengths(results)
    free = np.asarray(np.isfinite(pd).any(axis=0))
    places: list[Place] = []
    while free.any() and len(places) < count:
        lowest = np.where(free, pd.min(axis=0), np.inf)
        segment = int(np.argmin(lowest))
        row = int(np.argmin(pd[:, segment]))
        section = next(s for s in sections if s.first <= segment < s.stop)
        level = float(np.median(pd[row, section.first : section.stop]))
        depth = min(VALLEY_DEPTH, 0.5 * (level - pd[row, segment])) if np.isfinite(level) else VALLEY_DEPTH
        alike = (pd[row] <= pd[row, segment] + max(depth, 0.0)) & free
        first = last = segment
        while first > section.first and alike[first - 1]:
            first -= 1
        while last + 1 < section.stop and alike[last + 1]:
            last += 1
        valley = list(range(first, last + 1))
        places.append(_place(results, sections, counted[row], segment, valley, valley=True))
        margin = max(1, int(np.ceil(VALLEY_APART_M / lengths[segment])))
        free[max(section.first, first - margin) : min(section.stop, last + 1 + margin)] = False
    return sorted(places, key=lambda place: place.pd)


def touching_sets(mask: np.ndarray, after: np.ndarray, before: np.ndarray) -> list[list[int]]:
    """Touching segments where `mask` holds, each in walking order, across joints and around a ring."""
    left = set(np.flatnonzero(mask).tolist())
    parts = []
    while left:
        start = min(left)
        first = start
        while before[first] in left and before[first] != start:
            first = int(before[first])
        part = [first]
        left.discard(first)
        while after[part[-1]] in left:
            part.append(int(after[part[-1]]))
            left.discard(part[-1])
        parts.append(part)
    return parts


def leading_cause(results: AnyResults, row: int, segments: int | Sequence[int]) -> tuple[str | None, float | None]:
    """The largest cause of misses in one class over a segment or a stretch of them, and its share of those misses.

    A stretch is judged as a whole, by length: its lowest metre alone may be a tie that turns with the seed. (None, None) when
    the mean 1 - Pd is within the mean half width.
    """
    results = Results.of(results)
    part = np.atleast_1d(segments)
    length = segment_lengths(results)[part]
    pd = float(np.average(results.at("pd", weather=row, segment=part), weights=length))
    half_width = float(np.average(sampling_half(results)[row, part], weights=length))
    shares = results.at("miss_share", weather=row, segment=part) @ length
    total = float(np.sum(shares))
    if not (1.0 - pd > half_width and total > 0.0):
        return None, None
    largest = int(np.argmax(shares))
    return str(results["cause"].values[largest]), float(shares[largest] / total)


def sampling_half(results: Results) -> np.ndarray:
    """Half widths of Pd from the crossings alone (weather, segment): whether misses are too few to tell goes by them."""
    if "pd_sampling_half" in results:
        return results.array("pd_sampling_half", "weather", "segment")
    return 0.5 * (results.array("pd_high", "weather", "segment") - results.array("pd_low", "weather", "segment"))


def printed_numbers(results: AnyResults, row: int, segment: int) -> tuple[float, float, float, bool]:
    """Pd, low and high of a cell as they are printed: those of fresh crossings where the results hold them."""
    results = Results.of(results)
    if "pd_fresh" in results:
        fresh = tuple(results.at(name, weather=row, segment=segment) for name in ("pd_fresh", "pd_fresh_low", "pd_fresh_high"))
        if not np.isnan(fresh[0]):
            return *fresh, True
    return *(results.at(name, weather=row, segment=segment) for name in ("pd", "pd_low", "pd_high")), False


def _worse(results: Results, row: int, part: list[int], pd: float) -> Worse | None:
    """The worst class over these segments beside class `row`, None when it is not much worse."""
    others = [i for i in counted_classes(results) if i != row]
    if not others:
        return None
    found = results.array("pd", "weather", "segment")[np.ix_(others, part)]
    if np.isnan(found).all():
        return None
    at = np.unravel_index(int(np.nanargmin(found)), found.shape)
    worst, segment = others[int(at[0])], part[int(at[1])]
    printed = printed_numbers(results, worst, segment)[0]
    if printed > pd - MUCH_WORSE:
        return None
    return Worse(results.classes[worst], worst, segment, printed, leading_cause(results, worst, segment)[0])


def _place(results: Results, sections: tuple[Section, ...], row: int, segment: int, part: list[int], **kind: bool) -> Place:
    pd, low, high, fresh = printed_numbers(results, row, segment)
    cause, share = leading_cause(results, row, segment)
    lengths = segment_lengths(results)[part]
    weak_rows = [i for i in counted_classes(results) if np.any(results.at("verdict", weather=i, segment=part) == "weak")]
    return Place(
        code=code_of(results, sections, part[0], part[-1]),
        section=str(results["section"].values[segment]),
        segments=tuple(part),
        segment=segment,
        chainage_m=float(results["chainage_m"].values[segment]),
        weather=str(results["weather"].values[row]),
        weather_index=row,
        pd=pd,
        low=low,
        high=high,
        fresh=fresh,
        verdict=verdict(low, high, float(results.attrs["requirement_pd"])),
        cause=cause,
        cause_share=share,
        weak_in=tuple(str(results["weather"].values[i]) for i in weak_rows),
        weak_hours=float(sum(results["weather_hours"].values[i] for i in weak_rows)),
        at=code_of(results, sections, segment, segment),
        length_m=float(np.sum(lengths)),
        weak_m=float(np.sum(lengths[results.at("verdict", weather=row, segment=part) == "weak"])),
        worse=_worse(results, row, part, pd),
        **kind,
    )
