"""Places as people type them, back to segments: `A 10-12 m`, `B 58–68 m`, `A 10 m`, `B 108 m to C 2 m`, `Quay edge`.

Numbers are metres along a section, rounded as they were printed. Tests: tests/estimate/test_typed_places.py.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Protocol

import numpy as np

from fencecast.errors import UsageError, close_match, name_list, show_value
from fencecast.estimate.places import Section
from fencecast.estimate.results import Results

_NUMBER = r"(\d[\d,]*(?:\.\d+)?)"
_STRETCH = re.compile(rf"(.*?)\s*{_NUMBER}\s*(?:m\s*)?[-–]\s*{_NUMBER}\s*m?")
_ACROSS = re.compile(rf"(.*?)\s*{_NUMBER}\s*m?\s+to\s+(.*?)\s*{_NUMBER}\s*m?")
_POINT = re.compile(rf"(.*?)\s+{_NUMBER}\s*m?")
HOW = 'type a place as it is printed, such as "A 10-12 m", "A 10 m", "A 108 m to B 2 m", or a section by its letter or name'


class HasSections(Protocol):
    """Results, or whatever else knows the sections of a site."""

    @property
    def sections(self) -> Sequence[Section]: ...


def chainage_at(fence: HasSections, place: str) -> tuple[Section, float]:
    """Section and metres along it of a place typed as one distance: `A 14 m`, `north fence 14.5`.

    UsageError for a section that is not there, for metres beyond its end, and for anything else.
    """
    text = " ".join(str(place).split())
    if not (found := _POINT.fullmatch(text)):
        section = _named(fence.sections, text)
        known = fence.sections[0].name if section is None else section.name
        raise UsageError(
            f"place {show_value(text)} is no single distance along a section: type for instance {show_value(known + ' 5')}"
        )
    section = _section(fence, found[1], text)
    return section, min(_within(section, found[2], text), section.length_m)


def segments_at(results: Results, place: str) -> np.ndarray:
    """Indices of the segments of a place, in walking order, (segments,) integers.

    A stretch has the segments that begin and end where it does, as printed, else every segment that it touches; a single distance
    has the one segment that holds it; a section's letter or name has the whole section.
    UsageError for a section that is not there, for metres beyond its end, and for what cannot be read.
    """
    text = " ".join(str(place).split())
    section = _named(results.sections, text)
    if section is not None:
        return np.arange(section.first, section.stop)
    if found := _ACROSS.fullmatch(text):
        start, end = (_section(results, name, text) for name in (found[1], found[3]))
        return _across(results, start, _first(results, start, found[2], text), end, _last(results, end, found[4], text), text)
    if found := _STRETCH.fullmatch(text):
        section = _section(results, found[1], text)
        return _stretch(results, section, found[2], found[3], text)
    if found := _POINT.fullmatch(text):
        section = _section(results, found[1], text)
        return np.array([_holding(results, section, _metres(found[2]), text)])
    raise UsageError(_unknown(results, text, text))


def _metres(typed: str) -> float:
    return float(typed.replace(",", ""))


def _decimals(typed: str) -> int:
    return len(typed.partition(".")[2])


def _as_printed(values: np.ndarray, typed: str) -> np.ndarray:
    """Metres rounded as this one is printed: whole ones half up, as in codes."""
    decimals = _decimals(typed)
    return np.floor(values + 0.5) if decimals == 0 else np.round(values, decimals)


def _named(sections: Sequence[Section], name: str) -> Section | None:
    """A section by its letter or name; in other case too where that is one section alone."""
    for match in (lambda text: text, str.lower):
        found = [s for s in sections if match(name) in (match(s.letter), match(s.name))]
        if len(found) == 1:
            return found[0]
    return None


def _section(results: HasSections, name: str, place: str) -> Section:
    if not name:
        raise UsageError(f"place {show_value(place)} names no section; {HOW}")
    section = _named(results.sections, name)
    if section is None:
        raise UsageError(_unknown(results, name, place))
    return section


def _unknown(results: HasSections, name: str, place: str) -> str:
    known = [word for s in results.sections for word in dict.fromkeys((s.letter, s.name))]
    near = close_match(name, [word for word in known if len(word) > 1])
    hint = f"did you mean {show_value(near)}? " if near else ""
    listed = ", ".join(s.letter if s.letter == s.name else f"{s.letter} ({show_value(s.name)})" for s in results.sections)
    what = f"place {show_value(place)}" if name == place else f"section {show_value(name)} of the place {show_value(place)}"
    return f"{what} is not known: {hint}the sections are {listed}; {HOW}"


def _ends(results: Results, section: Section) -> tuple[np.ndarray, np.ndarray]:
    part = slice(section.first, section.stop)
    return results.array("segment_start_m", "segment")[part], results.array("segment_end_m", "segment")[part]


def _within(section: Section, typed: str, place: str) -> float:
    metres = _metres(typed)
    if metres > section.length_m + 0.5 * 10.0 ** -_decimals(typed):
        end = f"{section.length_m:.1f}".removesuffix(".0")
        raise UsageError(f"place {show_value(place)}: section {section.letter} ends at {end} m; {HOW}")
    return metres


def _holding(results: Results, section: Section, metres: float, place: str) -> int:
    """The segment that holds a distance; where two meet the one that begins there, at the section's end its last."""
    _within(section, f"{metres:g}", place)
    starts, _ = _ends(results, section)
    return section.first + int(np.clip(np.searchsorted(starts, metres, side="right") - 1, 0, len(starts) - 1))


def _first(results: Results, section: Section, typed: str, place: str) -> int:
    """The segment that begins at this distance as printed, else the one that holds it."""
    metres = _within(section, typed, place)
    here = np.flatnonzero(_as_printed(_ends(results, section)[0], typed) == metres)
    return section.first + int(here[0]) if len(here) else _holding(results, section, metres, place)


def _last(results: Results, section: Section, typed: str, place: str) -> int:
    """The segment that ends at this distance as printed, else the one that holds it."""
    metres = _within(section, typed, place)
    here = np.flatnonzero(_as_printed(_ends(results, section)[1], typed) == metres)
    return section.first + int(here[-1]) if len(here) else _holding(results, section, metres, place)


def _stretch(results: Results, section: Section, start: str, end: str, place: str) -> np.ndarray:
    if _metres(end) <= _metres(start):
        raise UsageError(f"place {show_value(place)} ends where or before it begins; {HOW}")
    first, last = _first(results, section, start, place), _last(results, section, end, place)
    return np.arange(first, max(first, last) + 1)


def _across(results: Results, start: Section, first: int, end: Section, last: int, place: str) -> np.ndarray:
    """From one section over joints into another, or over its own joint."""
    if start.index == end.index and last >= first:
        return np.arange(first, last + 1)
    found, at, seen = list(range(first, start.stop)), start.following, {start.index}
    while at is not None:
        section = results.sections[at]
        if section.index == end.index:
            return np.array([*found, *range(section.first, last + 1)])
        if at in seen:
            break
        seen.add(at)
        found += range(section.first, section.stop)
        at = section.following
    known = name_list(s.letter for s in results.sections)
    raise UsageError(f"place {show_value(place)}: section {end.letter} does not follow {start.letter} (sections {known}); {HOW}")
