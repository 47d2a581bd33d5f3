"""Every metre in every weather class and over the year, as the report prints it: whole hundredths, words as letters.

Page and script round nothing of their own: what is printed is made from these numbers, in Python for the page as it is sent and
in the browser for every other metre.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fencecast.estimate.intervals import verdicts
from fencecast.estimate.results import Results
from fencecast.findings.readings import BEST_AT_LEAST
from fencecast.findings.words import hours_text
from fencecast.report.sections.wherewords import OF_USE, VERDICTS, class_start, fill, year_start
from fencecast.report.words import what_helps
from fencecast.show.fence.data import class_rows, year_row
from fencecast.show.fence.strip import BY_HOURS
from fencecast.show.svg.plan import VERDICT_LETTERS

NONE = -1  # no number


@dataclass(frozen=True)
class RowName:
    """A row of the table: a weather class, or the year; `start` begins its sentence: `In heavy rain`."""

    name: str
    hours: str
    start: str
    year: bool


@dataclass(frozen=True, eq=False)
class Cells:
    """rows: classes worst first, then the year if it has a row. pd, low, high: (rows, segments) hundredths as printed, of fresh
    crossings where there are any, -1 for none; word: letters of the verdicts of these numbers (rows, segments).

    missed: (causes, classes, segments) hundredths of the misses there; lead: (classes, segments) the number of the leading cause,
    -1 where misses are too few. best, alone: (2, classes, segments) the number of the two best cameras and their Pd alone.
    """

    rows: tuple[RowName, ...]
    causes: tuple[str, ...]
    marks: tuple[str, ...]
    pd: np.ndarray
    low: np.ndarray
    high: np.ndarray
    word: np.ndarray
    missed: np.ndarray
    lead: np.ndarray
    best: np.ndarray
    alone: np.ndarray
    fresh: bool


def cells_of(results: Results) -> Cells:
    """What is printed of every metre."""
    classes, year = class_rows(results), year_row(results)
    rows = [
        RowName(r.summary.name, hours_text(r.summary.hours, r.summary.years), class_start(r.summary.name), False) for r in classes
    ]
    order = [row.summary.index for row in classes]
    pd, low, high = (results.array(name, "weather", "segment")[order] for name in ("pd", "pd_low", "pd_high"))
    missed, lead = _misses(results, order, pd, low, high)
    best, alone = _cameras(results, order)
    fresh = False
    if "pd_fresh" in results:
        again = [results.array(f"pd_fresh{end}", "weather", "segment")[order] for end in ("", "_low", "_high")]
        known = ~np.isnan(again[0])
        fresh = bool(known.any())
        pd, low, high = (np.where(known, new, first) for new, first in zip(again, (pd, low, high)))
    if year is not None and len(classes) > 1:  # of one class the year is that class
        rows.append(RowName(year.summary.name, BY_HOURS, year_start(results), True))
        pd, low, high = (np.vstack([part, of]) for part, of in zip((pd, low, high), (year.pd, year.low, year.high)))
    words = verdicts(low, high, results.requirement)
    letters = np.vectorize(VERDICT_LETTERS.__getitem__, otypes=["U1"])(words)
    return Cells(
        tuple(rows), tuple(str(cause) for cause in results["cause"].values), results.marks, hundredths_of_pd(pd), hundredths(low),
        hundredths(high), letters, missed, lead, best, alone, fresh,
    )  # fmt: skip


def hundredths(values: np.ndarray) -> np.ndarray:
    """Fractions as whole hundredths, rounded as Python prints them with two decimals; -1 for NaN."""
    cut = np.clip(np.nan_to_num(values, nan=0.0), 0.0, 1.0)
    printed = np.array([int(f"{value:.2f}".replace(".", "")) for value in cut.ravel()], dtype=int).reshape(cut.shape)
    return np.where(np.isnan(values), NONE, printed)


def hundredths_of_pd(values: np.ndarray) -> np.ndarray:
    """The same for a Pd, where 100 is printed as '>0.99' and 0 as '<0.01' (`findings.words.pd_text`)."""
    whole = np.where(values >= 0.995, 100, np.where(values < 0.005, 0, hundredths(values)))
    return np.where(np.isnan(values), NONE, whole)


def _misses(
    results: Results, order: list[int], pd: np.ndarray, low: np.ndarray, high: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Shares of the misses by cause, and the leading cause by the rule of `estimate.weakest.leading_cause`."""
    shares = results.array("miss_share", "cause", "weather", "segment")[:, order]
    with np.errstate(invalid="ignore", divide="ignore"):
        total = shares.sum(axis=0)
        told = (1.0 - pd > 0.5 * (high - low)) & (total > 0.0)
        parts = np.where(told, shares / total, np.nan)
    lead = np.where(told, np.argmax(np.nan_to_num(shares), axis=0), NONE)
    return hundredths(parts), lead


def _cameras(results: Results, order: list[int]) -> tuple[np.ndarray, np.ndarray]:
    """The two best cameras alone, as numbers of the site's order, and their Pd alone; -1 where none is of use (by the Pd itself,
    not as printed, as in `findings.readings`)."""
    alone = results.array("pd_camera", "camera", "weather", "segment")[:, order]
    ranked = np.argsort(-np.nan_to_num(alone, nan=-1.0), axis=0, kind="stable")[:2]
    top = np.take_along_axis(alone, ranked, axis=0)
    found = hundredths_of_pd(np.where(top >= BEST_AT_LEAST, top, np.nan))
    best = np.where(found >= 0, ranked, NONE)
    if len(best) == 1:
        nobody = np.full_like(best, NONE)
        return np.concatenate([best, nobody]), np.concatenate([found, nobody])
    return best, found


# --- in words: the same functions, line by line, stand in the page's script ------------------------------------------------


def pd_words(hundredth: int) -> str:
    """A Pd as it is printed."""
    return "no data" if hundredth < 0 else ">0.99" if hundredth >= 100 else "<0.01" if hundredth == 0 else _two(hundredth)


def _two(hundredth: int) -> str:
    return f"{hundredth // 100}.{hundredth % 100:02d}"


def interval_words(cells: Cells, row: int, segment: int) -> str:
    """A Pd with its interval, as it is printed."""
    pd = int(cells.pd[row, segment])
    if pd < 0:
        return pd_words(pd)
    return f"{pd_words(pd)} ({_two(int(cells.low[row, segment]))} to {_two(int(cells.high[row, segment]))})"


def verdict_word(cells: Cells, row: int, segment: int) -> str:
    """The verdict of the number that is printed."""
    return VERDICTS[str(cells.word[row, segment])]


def causes_words(cells: Cells, row: int, segment: int) -> str:
    """`washed out 60 %, too small 38 %`: the leading cause first; a share that rounds to all of them is told as nearly all."""
    lead = int(cells.lead[row, segment])
    shares = [(int(cells.missed[k, row, segment]), k) for k in range(len(cells.causes))]
    told = sorted((pair for pair in shares if pair[0] >= 1), key=lambda pair: (pair[1] != lead, -pair[0], pair[1]))
    return ", ".join(fill("nearly_all" if share >= 100 else "share", cause=cells.causes[k], share=share) for share, k in told)


def metre_lines(cells: Cells, row: int, segment: int) -> list[str]:
    """What the box says of one metre, without the place that it is part of."""
    name = cells.rows[row]
    pd, verdict = interval_words(cells, row, segment), verdict_word(cells, row, segment)
    if cells.pd[row, segment] < 0:
        return [fill("none")]
    if name.year:
        return [fill("year", where=name.start, pd=pd, verdict=verdict), fill("year_why")]
    lines = [fill("here", where=name.start, hours=name.hours, pd=pd, verdict=verdict)]
    lead = int(cells.lead[row, segment])
    lines.append(fill("why", causes=causes_words(cells, row, segment)) if lead >= 0 else fill("few"))
    (first, second), (one, other) = cells.best[:, row, segment], cells.alone[:, row, segment]
    if one < OF_USE:
        lines.append(fill("nobody"))
    else:
        second_of_use = other >= OF_USE
        marks = {"mark": cells.marks[first], "mark2": cells.marks[second] if second_of_use else ""}
        lines.append(fill("best_two" if second_of_use else "best", **marks, pd=pd_words(one), pd2=pd_words(other)))
    if lead >= 0 and verdict != "meets":
        lines.append(fill("helps", help=what_helps(cells.causes[lead])))
    return lines
