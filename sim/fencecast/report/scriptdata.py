"""What the page's script knows: every metre in every class, the paths of the plan, and the sentences; as JSON.

Numbers of a row are one text of two hexadecimal digits a segment (hundredths, 'ff' for none), verdicts and colours one letter a
segment: a kilometre in twenty classes stays under a megabyte, and the script rounds nothing. Reading is strict in one place, the
script's `num`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from fencecast.estimate.places import Section
from fencecast.report.cells import Cells
from fencecast.report.figures import WhereFigures
from fencecast.report.policy import script_json
from fencecast.report.sections.wherewords import OF_USE, PATTERNS, VERDICTS
from fencecast.report.words import what_helps
from fencecast.show.fence.data import MOST_PLACES

MOST_MARKS = 255  # two digits a camera, the last of them for none


@dataclass(frozen=True)
class PlaceData:
    """A place for the script: its number in the section of places (0 for the lowest of a fence without weak ones), code, the
    sentence for the box, the row and the segment that describe it, and its segments."""

    number: int
    code: str
    told: str
    row: int
    segment: int
    segments: tuple[int, ...]


def script_data(
    cells: Cells, drawn: WhereFigures, codes: Sequence[str], sections: Sequence[Section], places: Sequence[PlaceData],
    start: tuple[int, int],
) -> str:  # fmt: skip
    """The data as JSON that nothing in it can end. codes: of every segment; start: row and segment that the page shows."""
    plan, strip = drawn.plan_data, drawn.strip_data
    part = np.zeros(len(codes), dtype=int)  # number of the place in the list below, from 1
    for number, place in enumerate(places, start=1):
        part[list(place.segments)] = number
    digits = 2 if len(cells.marks) < MOST_MARKS else 4
    data: dict[str, Any] = {
        "words": PATTERNS,
        "verdicts": VERDICTS,
        "helps": [what_helps(cause) for cause in cells.causes],
        "causes": cells.causes,
        "rows": [{"name": row.name, "hours": row.hours, "start": row.start, "year": int(row.year)} for row in cells.rows],
        "sections": [{"name": section.name, "stop": section.stop} for section in sections],
        "cameras": cells.marks,
        "codes": list(codes),
        "pd": _rows(cells.pd),
        "low": _rows(cells.low),
        "high": _rows(cells.high),
        "word": ["".join(row) for row in cells.word],
        "lead": ["".join("n" if k < 0 else str(k) for k in row) for row in cells.lead],
        "missed": [_rows(of_class) for of_class in np.swapaxes(cells.missed, 0, 1)],
        "best": [_rows(of_class, digits) for of_class in np.swapaxes(cells.best, 0, 1)],
        "alone": [_rows(of_class) for of_class in np.swapaxes(cells.alone, 0, 1)],
        "digits": digits,
        "of_use": OF_USE,
        "step": plan.steps[: len(cells.rows)],
        "verdict": plan.verdicts[: len(cells.rows)],
        "cells": plan.cells,
        "rails": plan.rails,
        "at": plan.at,
        "strip": {"x": strip.x, "tops": strip.tops, "row": strip.row_mm},
        "dot": drawn.dot_mm,
        "places": [
            {"code": place.code, "told": place.told, "row": place.row, "segment": place.segment} for place in places
        ],
        "most": MOST_PLACES,  # so many are read in full
        "part": part.tolist(),
        "start": {"row": start[0], "segment": start[1]},
    }  # fmt: skip
    return script_json(data)


def _rows(numbers: np.ndarray, digits: int = 2) -> list[str]:
    """Rows of whole numbers as hexadecimal texts; -1 becomes the largest of so many digits. A row of zeros alone is ''."""
    none = 16**digits - 1
    return ["" if not row.any() else "".join(f"{none if n < 0 else n:0{digits}x}" for n in row.tolist()) for row in numbers]
