"""Runs of planted yards, and what is said of them.

`said` is the seam between the test bed and the product: the one function to change when readings change.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from fencecast import Results, parse_site, run
from fencecast.estimate.weakest import lowest_places
from fencecast.findings.readings import reading
from planted.base import base, toml
from planted.expected import Expected, Stretch, stands_in
from planted.faults import FAULTS

PRECISION = 0.04
NAMED = 12  # more places than any planted yard has
SEGMENT_M = 2.0


@dataclass(frozen=True)
class Said:
    """What is said of one stretch: section, from, to [m], cause, weather class, sentences."""

    section: str
    start: float
    end: float
    cause: str
    weather: str
    text: str

    @property
    def first(self) -> str:
        """The first sentence; what bad weather adds stands in those after it."""
        return self.text.split(". ")[0]


@cache
def results_of(name: str) -> Results:
    """The results of a fault by its name; of the good yard for "base"."""
    tables = base() if name == "base" else next(fault for fault in FAULTS if fault.name == name).tables()
    return Results.of(run(parse_site(toml(tables)), precision=PRECISION))


def said(results: Results) -> list[Said]:
    """What the product says of every named place: one entry for each section that the place lies in."""
    found = []
    sections = results["section"].values.astype(str)
    starts, ends = results["segment_start_m"].values, _ends(results)
    for place in lowest_places(results, NAMED):
        for section in dict.fromkeys(sections[list(place.segments)]):
            mine = [segment for segment in place.segments if sections[segment] == section]
            start, end = float(starts[mine].min()), float(ends[mine].max())
            found.append(Said(section, start, end, place.cause or "", place.weather, reading(results, place)))
    return found


def inside(results: Results, where: tuple[Stretch, ...], slack_m: float = 0.0) -> np.ndarray:
    """Which segments lie within stretches made longer by slack_m at both ends, (segments,) bool."""
    sections, middle = results["section"].values.astype(str), results["chainage_m"].values
    rows = [(sections == s) & (middle > a - slack_m) & (middle < b + slack_m) for s, a, b in where]
    return np.any(rows, axis=0)


def leading(results: Results, weather: str, mask: np.ndarray) -> str:
    """The cause of most misses over the weak segments of a mask in a class."""
    row = _row(results, weather)
    weak = mask & (results["verdict"].values[row].astype(str) == "weak")
    shares = results["miss_share"].values[:, row][:, weak].sum(axis=1)
    return str(results["cause"].values[int(np.argmax(shares))])


def weak_in(results: Results, weather: str) -> np.ndarray:
    """Which segments are weak in a class, (segments,) bool."""
    return results["verdict"].values[_row(results, weather)].astype(str) == "weak"


def about(place: Expected, words: list[Said]) -> list[Said]:
    """What is said of stretches that lie at least half within an expected place."""
    found = []
    for entry in words:
        common = sum(max(0.0, min(b, entry.end) - max(a, entry.start)) for s, a, b in place.where if s == entry.section)
        if common >= 0.5 * (entry.end - entry.start):
            found.append(entry)
    return found


def misses(place: Expected, words: list[Said]) -> list[str]:
    """What is wrong with what is said of an expected place; empty when the fault is named and no other."""
    entries = about(place, words)
    if not entries:
        return ["nothing is said of it"]
    named = [e for e in entries if any(stands_in(word, e.first) for word in place.words)]
    wrong = [] if named else [f"none of {place.words} in {[e.first for e in entries]}"]
    wrong += [f"cause: {e.cause}" for e in named if e.cause != place.cause]
    wrong += [f"class: {e.weather}" for e in named if e.weather != place.weather]
    return wrong + [f"blames {word}: {e.first}" for e in entries for word in place.not_words if stands_in(word, e.first)]


def _row(results: Results, weather: str) -> int:
    return [str(name) for name in results["weather"].values].index(weather)


def _ends(results: Results) -> np.ndarray:
    starts, middle = results["segment_start_m"].values, results["chainage_m"].values
    return 2.0 * middle - starts
