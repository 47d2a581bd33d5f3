"""Invented results for the section "Where and when", its facts read off a page, and every metre in words by the program."""

from __future__ import annotations

import json
import re
from functools import cache
from typing import Any

import numpy as np

from fencecast.estimate.results import Results
from fencecast.report.cells import Cells, cells_of, interval_words, metre_lines, verdict_word
from fencecast.report.making import report
from show import invented_results as invented

TWENTY = tuple((f"class {k:02d} of twenty", 50 + 7 * k, 30.0 + 0.8 * k) for k in range(20))


def with_odd_causes(results: Any) -> Any:
    """The same with two causes that are printed alike in the lowest metre, the later larger, and one cause alone beside it."""
    segment = int(np.nanargmin(results["pd_worst"].values))
    for at, shares in ((segment, (0.0, 0.3301, 0.3304, 0.3, 0.0395)), (segment - 1, (0.0, 0.0, 0.0, 1.0, 0.0))):
        for k, share in enumerate(shares):
            results["miss_share"].values[k, :, at] = share * (1.0 - results["pd"].values[:, at])
    return results


def fresh_yard():
    return with_odd_causes(invented.yard(fresh=True))


def part_without_data_us():
    return with_odd_causes(invented.part_without_data(units="us"))


def twenty_classes():
    """A kilometre in metres, twenty classes, twelve cameras."""
    return invented.large(classes=TWENTY, segment_length=1053 / 1000)


ODD = {"fresh yard": fresh_yard, "us, part without data": part_without_data_us, "twenty classes": twenty_classes}


@cache
def results_of(name: str) -> Any:
    """Invented results by name, made once; read only."""
    return (ODD | invented.ALL)[name]()


@cache
def page_of_site(name: str) -> str:
    """The full edition of a site by name, made once."""
    return made(results_of(name))


def made(results: Any, **options: Any) -> str:
    """The full edition."""
    return report(results, **options)


def data_of(html: str) -> dict[str, Any]:
    """The data of the page's script."""
    found = re.search(r'<script type="application/json" id="where-data">(.*?)</script>', html, re.DOTALL)
    assert found is not None
    return json.loads(found[1])


def numbers(text: str, count: int, digits: int = 2) -> np.ndarray:
    """A row of the data as numbers, -1 for none: written apart from the program's own reading."""
    if not text:
        return np.zeros(count, dtype=int)
    assert len(text) == digits * count
    found = np.array([int(text[i : i + digits], 16) for i in range(0, len(text), digits)])
    return np.where(found == 16**digits - 1, -1, found)


def all_metres(results: Any) -> tuple[Cells, list[list[dict[str, Any]]]]:
    """Of every row and segment what the page shows: the lines of the box without its place, number and verdict."""
    cells = cells_of(Results.of(results))
    told = [
        [
            {
                "lines": metre_lines(cells, row, segment),
                "pd": interval_words(cells, row, segment),
                "verdict": "" if cells.pd[row, segment] < 0 else verdict_word(cells, row, segment),
            }
            for segment in range(cells.pd.shape[1])
        ]
        for row in range(len(cells.rows))
    ]
    return cells, told
