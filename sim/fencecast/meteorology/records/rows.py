"""A weather file's rows before they are put on the clock, and the notes of what was not taken as it stands."""

from __future__ import annotations

import contextlib
from dataclasses import dataclass, field

import numpy as np

from fencecast.meteorology.year import RecordProblem

# Of one kind of finding, so many are listed row by row.
_TOLD_SINGLY = 10
# What files write where there is nothing; compared in lower case.
EMPTY_MARKS = np.array(["", "na", "n/a", "nan", "none", "null", "m", "-", "--", "missing"])


@dataclass
class Notes:
    """Collects `RecordProblem`s: each with its row and value; before more than ten of one kind, their count."""

    problems: list[RecordProblem] = field(default_factory=list)

    def add(self, row: int | None, name: str, value: object, why: str) -> None:
        self.problems.append(RecordProblem(None if row is None else int(row), name, value, why))

    def add_rows(self, rows: np.ndarray, name: str, values: np.ndarray, why: str) -> None:
        """One problem for each row; of more than ten their count, then the first ten.

        The count comes first, so that a list that is cut still tells how many there are.
        """
        if len(rows) > _TOLD_SINGLY:
            where = f"{len(rows):,} rows, lines {int(np.min(rows)):,} to {int(np.max(rows)):,}"
            self.add(None, name, where, f"{why} (the first {_TOLD_SINGLY} follow)")
        for row, value in list(zip(rows, values))[:_TOLD_SINGLY]:
            self.add(row, name, value.item() if hasattr(value, "item") else value, why)


@dataclass
class Rows:
    """What a file says, one entry a row, in the units of the records but as yet in the file's order.

    line (rows,): line of the file. start (rows,) datetime64[s]: start of the hour, local standard time. values: arrays (rows,)
    of float by the names of the records, dew_point_c and ceiling_m besides, NaN where missing. as_written: the same names, what
    stood in the file (rows,) and its unit. codes (rows,): present weather as text, or None; by_code_mm_h (rows,): what falls by
    them. total_hours (rows,): over how many hours a depth of precipitation was gathered, or None for one.
    """

    file: str
    line: np.ndarray
    start: np.ndarray
    utc_offset_h: float
    values: dict[str, np.ndarray]
    as_written: dict[str, tuple[np.ndarray, str]] = field(default_factory=dict)
    codes: np.ndarray | None = None
    by_code_mm_h: np.ndarray | None = None
    total_hours: np.ndarray | None = None
    latitude: float | None = None
    longitude: float | None = None
    elevation_m: float | None = None
    notes: Notes = field(default_factory=Notes)

    def take(self, order: np.ndarray) -> None:
        """Keeps these rows (indices) in this order."""
        self.line, self.start = self.line[order], self.start[order]
        self.values = {name: array[order] for name, array in self.values.items()}
        self.as_written = {name: (array[order], unit) for name, (array, unit) in self.as_written.items()}
        self.codes = None if self.codes is None else self.codes[order]
        self.by_code_mm_h = None if self.by_code_mm_h is None else self.by_code_mm_h[order]
        self.total_hours = None if self.total_hours is None else self.total_hours[order]

    def as_told(self, name: str, which: np.ndarray) -> np.ndarray:
        """What the file says in these rows (a mask), with its unit, for notes."""
        if name not in self.as_written:
            return self.values[name][which]
        array, unit = self.as_written[name]
        return np.array([f"{each} {unit}" for each in array[which]])


def numbers_of(texts: np.ndarray, line: np.ndarray, name: str, notes: Notes, missing: tuple[str, ...] = ()) -> np.ndarray:
    """Texts (rows,) as floats; NaN for what is empty or one of `missing`, and for what is no number, which is noted."""
    import pandas as pd

    texts = np.char.strip(np.asarray(texts, dtype=str))
    # "inf" and the like are no numbers either.
    numbers = pd.to_numeric(pd.Series(texts), errors="coerce").to_numpy(dtype=float, copy=True)
    numbers[~np.isfinite(numbers)] = np.nan
    marked = np.isin(np.char.lower(texts), EMPTY_MARKS)
    for mark in missing:
        marked |= texts == mark
        with contextlib.suppress(ValueError):
            marked |= numbers == float(mark)
    numbers[marked] = np.nan
    strange = np.isnan(numbers) & ~marked
    notes.add_rows(line[strange], name, texts[strange], "is no number; taken as missing")
    return numbers
