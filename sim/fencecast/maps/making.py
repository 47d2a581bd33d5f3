"""What is at hand while tables are made from features: the grid, the report, names that are taken, the older file."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from fencecast.maps.features import Feature
from fencecast.maps.fences import Fence
from fencecast.maps.grid import Grid
from fencecast.maps.properties import read_properties
from fencecast.maps.recognise import Recognised
from fencecast.maps.rows import Report, Row

if TYPE_CHECKING:
    from fencecast.site import Site

_LENGTHS = {"camera": 24}
_WORDS = {"perimeter": "fence", "obstacle": "building"}


@dataclass
class Making:
    """The tables so far. old: the site that is brought up to date, or None. several: drawings, so that lines name theirs."""

    grid: Grid | None
    report: Report
    old: Site | None = None
    several: bool = False
    hide_place: bool = False
    lost: list[Feature] = field(default_factory=list)  # fences that were left out
    unplaced: bool = False  # whether another was, and nobody knows where it lies
    rows: list[Row] = field(default_factory=list)
    fences: list[Fence] = field(default_factory=list)
    _names: dict[str, set[str]] = field(default_factory=dict)

    def wrong(self, feature: Feature, words: str) -> None:
        """A problem of one feature."""
        self.report.wrong.append((feature.key, f"{self.label(feature)}: {words}"))

    def note(self, words: str) -> None:
        """Something that was mended or is worth a look."""
        self.report.notes.append(words)

    def label(self, feature: Feature) -> str:
        """How a feature is named: with its drawing where there are several."""
        return f"{feature.file}, {feature.label}" if self.several else feature.label

    def degrees(self, point: np.ndarray) -> str:
        """The place of a point [m] on the map in brackets; "" without a map, and where it is to be hidden."""
        if self.grid is None or self.hide_place:
            return ""
        lon, lat = self.grid.to_map(point[None, :])[0]
        return f" (latitude {lat:.7f}, longitude {lon:.7f})"

    def name(self, table: str, wanted: str, word: str, feature: Feature) -> str:
        """A name that no other of its kind has: the drawn one, or a number; a second equal one is reported."""
        taken = self._names.setdefault(table, set())
        longest = _LENGTHS.get(table, 60)
        base = wanted[:longest].strip()
        number = 1
        made = base or f"{word}1" if table == "camera" else base or f"{word} 1"
        while made in taken:
            number += 1
            end = f" {number}" if base else f"{number}" if table == "camera" else f" {number}"
            made = (base or word)[: longest - len(end)] + end
        if base and made != base:
            self.note(f'{self.label(feature)}: another {_WORDS.get(table, table)} is called "{base}", so this one is "{made}"')
        taken.add(made)
        return made

    def read(self, found: Recognised) -> dict[str, object]:
        """The values of a feature's properties; what was refused is reported."""
        values, wrong, notes, passed = read_properties(found.kind, found.feature)
        for words in wrong:
            self.wrong(found.feature, words)
        self.report.notes += [f"{self.label(found.feature)}: {note}" for note in notes]
        if passed:
            self.report.passed[self.label(found.feature)] = passed
        return values

    def add(self, row: Row, found: Recognised, what: str) -> Row:
        """A table made from a feature."""
        self.rows.append(row)
        self.report.taken.append((self.label(found.feature), what, row.name or "", found.by))
        if found.guessed:
            self.report.checks.append((f"{row.table} {row.name or ''}".strip(), "kind", found.by))
        return row
