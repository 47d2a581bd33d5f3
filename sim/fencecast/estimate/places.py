"""Names of stretches of fence: section letters, place codes, runs of equal verdict, the order of weather classes.

One language for pictures, tables and `--json`: sections get letters in perimeter order, a place is `B 58–68 m`, and
weather classes are ordered worst first in the same way everywhere. Everything is read from a results Dataset and from
the site that it carries as text.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from string import ascii_uppercase

import numpy as np

from fencecast.meteorology.year import LEAST_YEARS

# Sections whose ends are nearer than this touch: sites are drawn to decimetres (common practice, no source).
JOINT_TOLERANCE_M = 0.5


def classes_in_all(results) -> int:
    """How many weather classes the site has, run or not."""
    return int(results.attrs.get("weather_classes", len(results.site.weather)))


def record_years(results) -> float:
    """Years of the hourly record that a result's hours were divided by; 1 for classes that the site file describes."""
    return float(results.attrs.get("period_years", 1.0))


def told_hours(hours_per_year: float, years: float) -> float:
    """Hours as they may be told: those a year, or of a record much shorter than a year its own (see LEAST_YEARS)."""
    return hours_per_year if years >= LEAST_YEARS else hours_per_year * years


def section_letter(number: int, marks: Iterable[str] = ()) -> str:
    """Letter of the section with this index in perimeter order: A, B, ... Z, AA, AB, ...

    Letters that begin a camera's mark are left out: beside a camera C6 a place "C 48 m" would be read as one. So is the P of
    proposed cameras, so that a site and its proposal have the same letters.
    """
    taken = {"P", *(mark[:1].upper() for mark in marks)}
    letters = [letter for letter in ascii_uppercase if letter not in taken] or list(ascii_uppercase)
    text = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, len(letters))
        text = letters[rest] + text
    return text


def requirement_text(requirement: float) -> str:
    """A requirement with at least two decimals and no more than it needs: '0.90', '0.995'."""
    text = f"{requirement:.4f}".rstrip("0")
    return text if len(text) >= 4 else f"{requirement:.2f}"


def whole(value: float) -> str:
    """Whole numbers with a comma at the thousands, halves up (2.5 m must not read as 2 here and 3 there)."""
    return f"{math.floor(value + 0.5):,}"


def place_code(letter: str, start_m: float, end_m: float, end_letter: str | None = None) -> str:
    """`B 58–68 m`, or across a joint `B 108 m to C 2 m` [chainage in metres along each section]."""
    if (end_letter is None or end_letter == letter) and end_m >= start_m:
        return f"{letter} {whole(start_m)}–{whole(end_m)} m"
    return f"{letter} {whole(start_m)} m to {end_letter or letter} {whole(end_m)} m"


def site_of(results):
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


def sections_of(results) -> tuple[Section, ...]:
    """The sections in perimeter order; a closed one follows itself."""
    names = [str(name) for name in results["section"].values]
    ends = results["segment_end_m"].values
    perimeters = {p.name: p for p in results.site.perimeter}
    marks = [camera.mark for camera in results.site.camera]
    bounds = [i for i in range(len(names)) if i == 0 or names[i] != names[i - 1]] + [len(names)]
    starts = [np.array(perimeters[names[i]].points_m[0], dtype=float) for i in bounds[:-1]]
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
        sections.append(Section(k, section_letter(k, marks), names[first], first, stop, float(ends[stop - 1]), following))
    return tuple(sections)


def touching(sections) -> tuple[np.ndarray, np.ndarray]:
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


def runs_of(verdicts, sections) -> list[Run]:
    """Runs of equal verdict of one weather class, cut at section joints, in segment order."""
    runs = []
    for section in sections:
        first = section.first
        for i in range(section.first + 1, section.stop + 1):
            if i == section.stop or verdicts[i] != verdicts[first]:
                runs.append(Run(section.index, first, i, str(verdicts[first])))
                first = i
    return runs


def code_of(results, sections, first: int, last: int) -> str:
    """Place code of the stretch from segment `first` to segment `last`, both included."""
    start = next(s for s in sections if s.first <= first < s.stop)
    end = next(s for s in sections if s.first <= last < s.stop)
    return place_code(
        start.letter, float(results["segment_start_m"].values[first]), float(results["segment_end_m"].values[last]), end.letter
    )


def segment_lengths(results) -> np.ndarray:
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
    def told_hours(self) -> float:
        return told_hours(self.hours, self.years)


def verdict_metres(verdicts, lengths) -> dict[str, float]:
    """Metres of each verdict in one weather class."""
    verdicts = np.asarray(verdicts)
    return {word: float(np.sum(lengths[verdicts == word])) for word in ("meets", "undecided", "weak", "no data")}


def class_summaries(results) -> list[ClassSummary]:
    """Every weather class in the results' own order."""
    lengths = segment_lengths(results)
    summaries = []
    for i, name in enumerate(results["weather"].values):
        pd = results["pd"].values[i]
        known = ~np.isnan(pd)
        mean = float(np.average(pd[known], weights=lengths[known])) if known.any() else math.nan
        metres = verdict_metres(results["verdict"].values[i], lengths)
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


def worst_first(results) -> list[ClassSummary]:
    """Weather classes, worst first: longest weak length, then lowest mean Pd; classes of 0 h/yr come last."""
    return sorted(
        class_summaries(results),
        key=lambda c: (c.hours <= 0, -round(c.weak_m, 3), 2.0 if math.isnan(c.mean_pd) else c.mean_pd),
    )


def class_with_most(results, metres) -> int:
    """Index of the class with hours (any when none has) that has most of `metres` (weather); of equal ones the worst class."""
    classes = [c.index for c in worst_first(results) if c.hours > 0] or list(range(results.sizes["weather"]))
    return max(classes, key=lambda row: round(float(metres[row]), 3))


def year_verdicts(results) -> np.ndarray:
    """Verdict of every segment for the year weighted by hours, by the same rule as for a class."""
    need = float(results.attrs["requirement_pd"])
    low, high = results["pd_year_low"].values, results["pd_year_high"].values
    missing = np.isnan(results["pd_year"].values)
    return np.where(missing, "no data", np.where(high < need, "weak", np.where(low > need, "meets", "undecided")))
