"""The weakest places of a fence: weak runs of all weather classes merged into places, each entered once.

A place is one set of touching weak segments over all classes, described in its worst class. A class that is weak over more than
half of the fence is left out of the merging, because it would swallow every place, but not of the choice of the worst class;
callers say so in a sentence.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fencecast.estimate.intervals import verdict
from fencecast.estimate.places import Section, class_summaries, code_of, segment_lengths, touching
from fencecast.estimate.results import AnyResults, Results

# So many places are named, and run again on fresh crossings because they are.
NAMED_PLACES = 5
WIDESPREAD_SHARE = 0.5  # of the fence's length, above which a class is left out of the merging
VALLEY_APART_M = 10.0  # lowest places of a fence without weak ones lie at least this far apart
VALLEY_DEPTH = 0.05  # and hold the segments within this, or half way to the section's median, of their lowest Pd


@dataclass(frozen=True)
class Place:
    """One place, described by its lowest cell (segment, weather).

    code: place code of the touching weak segments in that class, or of all that were merged when it is `widespread`, weak over
    more than half of the fence. valley: a dip of Pd, named because there is no place of its own to name. pd, low, high: the
    cell's numbers, from fresh crossings when the results hold them (`fresh`), because the lowest of many estimates is too low
    by selection. cause, cause_share: the leading cause and its share of the cell's misses, None when misses are too few to
    tell. weak_in: names of the classes in which any of its segments is weak; weak_hours: their hours per year.
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
    widespread: bool = False
    valley: bool = False


def counted_classes(results: AnyResults) -> list[int]:
    """Indexes of the classes with hours > 0 (all of them when none has any)."""
    hours = results["weather_hours"].values
    counted = [i for i in range(len(hours)) if hours[i] > 0]
    return counted or list(range(len(hours)))


def widespread_classes(results: AnyResults) -> list[int]:
    """Indexes of the counted classes that are weak over more than half of the fence that has data."""
    length = float(np.sum(segment_lengths(results)[~np.all(np.isnan(results["pd"].values), axis=0)]))
    counted = set(counted_classes(results))
    return [c.index for c in class_summaries(results) if c.index in counted and c.weak_m > WIDESPREAD_SHARE * length]


def weak_places(results: AnyResults) -> list[Place]:
    """Every weak place, lowest Pd first; empty when nothing is weak, or weak only in widespread classes."""
    results = Results.of(results)
    sections = results.sections
    after, before = touching(sections)
    counted, widespread = counted_classes(results), set(widespread_classes(results))
    weak = results.array("verdict", "weather", "segment") == "weak"
    merged = weak[[i for i in counted if i not in widespread]].any(axis=0)
    pd = np.where(weak, results["pd"].values, np.inf)[counted]
    places = []
    for part in touching_sets(merged, after, before):
        cell = np.unravel_index(int(np.argmin(pd[:, part])), (len(counted), len(part)))
        row, segment = counted[int(cell[0])], part[int(cell[1])]
        stretch = part if row in widespread else _stretch(weak[row], segment, after, before)
        places.append(_place(results, sections, row, segment, stretch, part, widespread=row in widespread))
    return sorted(places, key=lambda place: place.pd)


def lowest_places(results: AnyResults, count: int = NAMED_PLACES) -> list[Place]:
    """The `count` lowest places, weak ones first; without weak ones, the valleys of the worst class's Pd.

    The valleys also stand in when every weak class is weak over more than half of the fence; then a valley that is weak in no
    class is none of them.
    """
    results = Results.of(results)
    places = weak_places(results)[:count]
    if places:
        return places
    valleys = _valleys(results, count)
    return [place for place in valleys if place.weak_in] or valleys


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
        places.append(_place(results, sections, counted[row], segment, valley, valley, valley=True))
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


def _stretch(mask: np.ndarray, segment: int, after: np.ndarray, before: np.ndarray) -> list[int]:
    """The touching segments around one of them where `mask` holds, in walking order."""
    back = []
    at = segment
    while before[at] >= 0 and mask[before[at]] and before[at] != segment:
        at = int(before[at])
        back.append(at)
    seen = {segment, *back}
    stretch = [*reversed(back), segment]
    at = segment
    while after[at] >= 0 and mask[after[at]] and after[at] not in seen:
        at = int(after[at])
        stretch.append(at)
    return stretch


def leading_cause(results: AnyResults, row: int, segments: int | Sequence[int]) -> tuple[str | None, float | None]:
    """The largest cause of misses in one class over a segment or a stretch of them, and its share of those misses.

    A stretch is judged as a whole, by length: its lowest metre alone may be a tie that turns with the seed. (None, None) when
    the mean 1 - Pd is within the mean half width.
    """
    results = Results.of(results)
    part = np.atleast_1d(segments)
    length = segment_lengths(results)[part]
    pd = float(np.average(results.at("pd", weather=row, segment=part), weights=length))
    width = results.at("pd_high", weather=row, segment=part) - results.at("pd_low", weather=row, segment=part)
    half_width = 0.5 * float(np.average(width, weights=length))
    shares = results.at("miss_share", weather=row, segment=part) @ length
    total = float(np.sum(shares))
    if not (1.0 - pd > half_width and total > 0.0):
        return None, None
    largest = int(np.argmax(shares))
    return str(results["cause"].values[largest]), float(shares[largest] / total)


def printed_numbers(results: AnyResults, row: int, segment: int) -> tuple[float, float, float, bool]:
    """Pd, low and high of a cell as they are printed: those of fresh crossings where the results hold them."""
    results = Results.of(results)
    if "pd_fresh" in results:
        fresh = tuple(results.at(name, weather=row, segment=segment) for name in ("pd_fresh", "pd_fresh_low", "pd_fresh_high"))
        if not np.isnan(fresh[0]):
            return *fresh, True
    return *(results.at(name, weather=row, segment=segment) for name in ("pd", "pd_low", "pd_high")), False


def _place(
    results: AnyResults, sections: tuple[Section, ...], row: int, segment: int, stretch: list[int], part: list[int], **kind: bool
) -> Place:
    pd, low, high, fresh = printed_numbers(results, row, segment)
    cause, share = leading_cause(results, row, stretch)
    weak_rows = [i for i in counted_classes(results) if np.any(results.at("verdict", weather=i, segment=part) == "weak")]
    return Place(
        code=code_of(results, sections, stretch[0], stretch[-1]),
        section=str(results["section"].values[segment]),
        segments=tuple(stretch),
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
        **kind,
    )
