"""The annexes: every stretch of the fence with its lowest Pd by class, and the site file as it was run."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fencecast.estimate.places import code_of
from fencecast.estimate.results import Results
from fencecast.findings.titles import simulated_metres
from fencecast.findings.words import pd_text, plural
from fencecast.report.sections.section import Body, Source

_LETTERS = {"weak": "w", "undecided": "u", "meets": "", "no data": ""}


@dataclass(frozen=True)
class Stretch:
    """A place code, and for every class its lowest Pd as printed with the letter of its verdict."""

    code: str
    cells: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Stretches:
    classes: tuple[str, ...]
    rows: tuple[Stretch, ...]


@dataclass(frozen=True)
class SiteFile:
    text: str


def stretches_of(source: Source) -> Body | None:
    """Touching metres of a section with the same verdict in every class; None when nothing was simulated."""
    results = source.results
    if simulated_metres(results) <= 0.0:
        return None
    order = [c.index for c in results.worst_first]
    rows = tuple(_stretch(results, order, first, stop) for first, stop in _runs(results, order))
    facts = Stretches(tuple(results.classes[row] for row in order), rows)
    finding = f"{plural(len(rows), 'stretch', 'stretches')} of touching metres with the same verdict in every class."
    return Body("Every stretch, by weather class", finding[:1].upper() + finding[1:], facts)


def _runs(results: Results, order: list[int]) -> list[tuple[int, int]]:
    words = results.array("verdict", "weather", "segment")[order]
    runs = []
    for section in results.sections:
        first = section.first
        for k in range(section.first + 1, section.stop + 1):
            if k == section.stop or (words[:, k] != words[:, first]).any():
                runs.append((first, k))
                first = k
    return runs


def _stretch(results: Results, order: list[int], first: int, stop: int) -> Stretch:
    cells = []
    for row in order:
        pd = results.at("pd", weather=row, segment=slice(first, stop))
        lowest = float("nan") if np.isnan(pd).all() else float(np.nanmin(pd))
        cells.append((pd_text(lowest), _LETTERS[str(results.at("verdict", weather=row, segment=first))]))
    return Stretch(code_of(results, results.sections, first, stop - 1), tuple(cells))


def site_file_of(source: Source) -> Body | None:
    """The text of the site file; None where the sender left it out."""
    if not source.options.site_file:
        return None
    return Body("The site file as it was run", "", SiteFile(str(source.results.attrs["site_toml"])))
