"""Names of stretches of fence: section letters, place codes, runs of equal verdict, the order of weather classes.

One language for pictures, tables and `--json`: sections get letters in perimeter order, a place is `B 58–68 m`, and
weather classes are ordered worst first in the same way everywhere. Everything is read from a results Dataset and from
the site that it carries as text.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fencecast.estimate.intervals import verdicts
from fencecast.estimate.placecodes import place_code, section_letters, whole
from fencecast.estimate.results import AnyResults, Results
from fencecast.meteorology.year import LEAST_YEARS
from fencecast.site import Site

# Sections whose ends are nearer than this touch: sites are drawn to decimetres (common practice, no source).
JOINT_TOLERANCE_M = 0.5


def classes_in_all(results: AnyResults) -> int:
    """How many weather classes the site has, run or not."""
    return int(results.attrs.get("weather_classes", len(results.site.weather)))


def record_years(results: AnyResults) -> float:
    """Years of the hourly record that a result's hours were divided by; 1 for classes that the site file describes."""
    return float(results.attrs.get("period_years", 1.0))


def stated_hours(hours_per_year: float, years: float) -> float:
    """Hours as they are stated: those a year, or of a record much shorter than a year its own (see LEAST_YEARS)."""
    return hours_per_year if years >= LEAST_YEARS else hours_per_year * years


def segment_codes(letters: Sequence[str], start_m: Sequence[np.ndarray], end_m: Sequence[np.ndarray]) -> np.ndarray:
    """The code of every segment, (segments,) text, as it can be typed: `A 10-12 m`; as many decimals as make all ends differ.

    letters: of each section; start_m, end_m: for each section, where its segments begin and end [m].
    """
    for decimals in range(4):
        parts = [
            (letter, _rounded(a, decimals), _rounded(b, decimals))
            for letter, starts, ends in zip(letters, start_m, end_m)
            for a, b in zip(starts, ends)
        ]
        if len(set(parts)) == len(parts) and all(start != end for _, start, end in parts):
            break
    return np.array([f"{letter} {start}-{end} m" for letter, start, end in parts])


def _rounded(value: float, decimals: int) -> str:
    return whole(value) if decimals == 0 else f"{value:,.{decimals}f}"


def requirement_text(requirement: float) -> str:
    """A requirement with at least two decimals and no more than it needs: '0.90', '0.995'."""
    text = f"{requirement:.4f}".rstrip("0")
    return text if len(text) >= 4 else f"{requirement:.2f}"


def site_of(results: AnyResults) -> Site:
    """The site that a results Dataset was computed for, from the text that it carries."""
    from fencecast.site import parse_site

    return parse_site(results.attrs["site_toml"])


@dataclass(frozen=True)
class Section:
    """One perimeter of the site as the results cut it: segments first..stop-1, and the section that begins where it ends."""

    index: int
    letter: str
    name: str
    first: int
    stop: int
    length_m: float
    following: int | None


@dataclass(frozen=True)
class Run:
    """Touching segments first..stop-1 of one section with the same verdict."""

    section: int
    first: int
    stop: int
    verdict: str


def sections_of(results: AnyResults) -> tuple[Section, ...]:
    """The sections in perimeter order; a closed one follows itself."""
    names = [str(name) for name in results["section"].values]
    ends = results["segment_end_m"].values
    perimeters = {p.name: p for p in results.site.perimeter}
    bounds = [i for i in range(len(names)) if i == 0 or names[i] != names[i - 1]] + [len(names)]
    starts = [np.array(perimeters[names[i]].points_m[0], dtype=float) for i in bounds[:-1]]
    if "segment" in results.data.coords:  # as the run named them, also where another design's cameras would leave other letters
        letters = [str(results["segment"].values[i]).split(" ")[0] for i in bounds[:-1]]
    else:
        letters = list(section_letters(results.site))
    sections = []
    for k, (first, stop) in enumerate(zip(bounds[:-1], bounds[1:])):
        perimeter = perimeters[names[first]]
        following = None
        if perimeter.closed:
            following = k
        else:
            last = np.array(perimeter.points_m[-1], dtype=float)
            near = [j for j, start in enumerate(starts) if np.hypot(*(start - last)) <= JOINT_TOLERANCE_M]
            following = near[0] if near else None
        sections.append(Section(k, letters[k], names[first], first, stop, float(ends[stop - 1]), following))
    return tuple(sections)


def touching(sections: Sequence[Section]) -> tuple[np.ndarray, np.ndarray]:
    """For every segment the one after it and the one before it, across joints; -1 where the fence ends."""
    count = sections[-1].stop
    after, before = np.full(count, -1), np.full(count, -1)
    for section in sections:
        after[section.first : section.stop - 1] = np.arange(section.first + 1, section.stop)
        if section.following is not None:
            after[section.stop - 1] = sections[section.following].first
    for i, j in enumerate(after):
        if j >= 0:
            before[j] = i
    return after, before


def runs_of(words: Sequence[str] | np.ndarray, sections: Sequence[Section]) -> list[Run]:
    """Runs of equal verdict of one weather class, cut at section joints, in segment order."""
    runs = []
    for section in sections:
        first = section.first
        for i in range(section.first + 1, section.stop + 1):
            if i == section.stop or words[i] != words[first]:
                runs.append(Run(section.index, first, i, str(words[first])))
                first = i
    return runs


def code_of(results: AnyResults, sections: Sequence[Section], first: int, last: int) -> str:
    """Place code of the stretch from segment `first` to segment `last`, both included."""
    start = next(s for s in sections if s.first <= first < s.stop)
    end = next(s for s in sections if s.first <= last < s.stop)
    return place_code(
        start.letter, float(results["segment_start_m"].values[first]), float(results["segment_end_m"].values[last]), end.letter
    )


def segment_lengths(results: AnyResults) -> np.ndarray:
    """Length of every segment [m]."""
    return results["segment_end_m"].values - results["segment_start_m"].values


@dataclass(frozen=True)
class ClassSummary:
    """One weather class over the whole fence; mean_pd is weighted by length over the segments with data.

    hours: a year; years: of the record that they are from.
    """

    index: int
    name: str
    hours: float
    mean_pd: float
    meets_m: float
    undecided_m: float
    weak_m: float
    no_data_m: float
    years: float = 1.0

    @property
    def stated_hours(self) -> float:
        return stated_hours(self.hours, self.years)


def verdict_metres(words: Sequence[str] | np.ndarray, lengths: np.ndarray) -> dict[str, float]:
    """Metres of each verdict in one weather class."""
    found = np.asarray(words)
    return {word: float(np.sum(lengths[found == word])) for word in ("meets", "undecided", "weak", "no data")}


def class_summaries(results: AnyResults) -> list[ClassSummary]:
    """Every weather class in the results' own order."""
    results = Results.of(results)
    lengths = segment_lengths(results)
    summaries = []
    for i, name in enumerate(results["weather"].values):
        pd = results.at("pd", weather=i)
        known = ~np.isnan(pd)
        mean = float(np.average(pd[known], weights=lengths[known])) if known.any() else math.nan
        metres = verdict_metres(results.at("verdict", weather=i), lengths)
        summaries.append(
            ClassSummary(
                index=i,
                name=str(name),
                hours=float(results["weather_hours"].values[i]),
                mean_pd=mean,
                meets_m=metres["meets"],
                undecided_m=metres["undecided"],
                weak_m=metres["weak"],
                no_data_m=metres["no data"],
                years=record_years(results),
            )
        )
    return summaries


def worst_first(results: AnyResults) -> list[ClassSummary]:
    """Weather classes, worst first: longest weak length, then lowest mean Pd; classes of 0 h/yr come last."""
    return sorted(
        class_summaries(results),
        key=lambda c: (c.hours <= 0, -round(c.weak_m, 3), 2.0 if math.isnan(c.mean_pd) else c.mean_pd),
    )


def class_with_most(results: AnyResults, metres: np.ndarray) -> int:
    """Index of the class with hours (any when none has) that has most of `metres` (weather); of equal ones the worst class."""
    classes = [c.index for c in worst_first(results) if c.hours > 0] or list(range(results.sizes["weather"]))
    return max(classes, key=lambda row: round(float(metres[row]), 3))


def year_verdicts(results: AnyResults) -> np.ndarray:
    """Verdict of every segment for the year weighted by hours, by the same rule as for a class."""
    return verdicts(results["pd_year_low"].values, results["pd_year_high"].values, float(results.attrs["requirement_pd"]))
