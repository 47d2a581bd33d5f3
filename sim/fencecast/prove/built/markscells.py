"""The cells of a file of marks: its columns, and every row as far as it can be read.

UTF-8 with or without a byte-order mark; comma, semicolon or tab, found from the first line; a decimal comma where the comma does
not part the columns. Every problem of the cells goes into one report, which `marksread` adds to.

Tests: tests/prove/built/test_marksread.py.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from fencecast.errors import InputError, Problem, close_match
from fencecast.prove.marksfile import COLUMNS
from fencecast.spreadsheet import text_of

NEEDED = ("camera", "mark", "x_m", "y_m", "column", "row", "height_m")
_FARTHEST_M = 100_000.0
_LONGEST = 60
_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)")


@dataclass
class Row:
    """One line as far as it could be read; None where a cell was refused or is empty."""

    line: int
    camera: str
    name: str
    place: list[float | None]
    reading: list[float | None]
    blank: bool
    height_m: float | None
    bad: bool = False


@dataclass
class Report:
    problems: list[Problem | str] = field(default_factory=list)

    def cell(self, line: int, column: str, value: object, allowed: str, instead: str = "", fault: str = "is not allowed") -> None:
        self.problems.append(Problem(f"line {line} {column}", value, allowed, instead, fault))

    def say(self, text: str) -> None:
        self.problems.append(text)


def content_of(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except FileNotFoundError:
        raise InputError(["there is no such file; fencecast aim writes one"], str(path)) from None
    except IsADirectoryError:
        raise InputError(["this is a folder; name the file of marks in it, such as marks.csv"], str(path)) from None
    except OSError as error:
        raise InputError([f"this file cannot be read: {error.strerror or error}"], str(path)) from None


def rows_of(content: bytes, name: str) -> tuple[list[Row], Report]:
    """The rows of the file; InputError at once when its columns are not there."""
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        problem = f"line {line}: byte 0x{content[error.start]:02x} is not UTF-8 text; save the file as UTF-8"
        raise InputError([problem], name) from None
    first = text.split("\n", 1)[0]
    comma = max(",;\t", key=first.count)
    try:
        lines = list(_lines(text, comma))
    except csv.Error as error:
        raise InputError([f"this is not a table: {error}"], name) from None
    if not lines:
        raise InputError([f"the file is empty: its first line names the columns {', '.join(COLUMNS)}"], name)
    heads = [cell.strip() for cell in lines[0][1]]
    report = Report()
    _check_heads(heads, report)
    if report.problems:
        raise InputError(report.problems, name)
    rows = []
    for line, cells in lines[1:]:
        if not any(cell.strip() for cell in cells):
            continue
        if len(cells) > len(heads) and any(cell.strip() for cell in cells[len(heads) :]):
            numbers = "; type numbers with a point, 6.5, not 6,5" if comma == "," else ""
            many = f"{len(cells)} fields under {len(heads)} columns"
            report.say(f"line {line}: {many}; a text with {_called(comma)} in it belongs in quotes{numbers}")
            camera = dict(zip(heads, cells)).get("camera", "")
            rows.append(Row(line, text_of(camera.strip()), "", [None] * 3, [None] * 2, False, None, bad=True))
            continue
        rows.append(_row(line, dict(zip(heads, [cell.strip() for cell in cells])), comma != ",", report))
    return rows, report


def _lines(text: str, comma: str) -> Iterator[tuple[int, list[str]]]:
    """(line, cells) of every record; line: where it begins."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=comma)
    start = 1
    for cells in reader:
        yield start, cells
        start = reader.line_num + 1


def _called(comma: str) -> str:
    return {",": "a comma", ";": "a semicolon", "\t": "a tab"}[comma]


def _check_heads(heads: list[str], report: Report) -> None:
    strangers = [head for head in heads if head and head not in COLUMNS]
    meant = set()
    for head in strangers:
        near = close_match(head, COLUMNS)
        meant.add(near)
        hint = f"did you mean {near}?" if near else f"known here: {', '.join(COLUMNS)}"
        report.say(f'line 1: column "{head}" is not known: {hint}')
    for need in NEEDED:
        if need not in heads and need not in meant:
            report.say(f'line 1: column "{need}" is missing; the columns are {", ".join(COLUMNS)}')
    for head in dict.fromkeys(heads):
        if head and heads.count(head) > 1:
            report.say(f'line 1: column "{head}" is there {heads.count(head)} times; keep one of them')


def _row(line: int, cells: dict[str, str], decimal_comma: bool, report: Report) -> Row:
    before = len(report.problems)
    camera, name = text_of(cells.get("camera", "")).strip(), text_of(cells.get("mark", "")).strip()
    if not camera:
        report.say(f"line {line} camera is empty: the mark of a camera of the site, as on its sheet")
    if not name or len(name) > _LONGEST:
        report.cell(line, "mark", name, f"the number of the mark on the sheet, 1 to {_LONGEST} characters", "1")

    def number(column: str, noun: str, example: str, default: float | None = None) -> float | None:
        text = cells.get(column, "")
        if not text:
            return default
        plain = text.replace(",", ".") if decimal_comma else text
        if not _NUMBER.fullmatch(plain.replace("−", "-")):
            # Two decimal commas in a row of a file that is parted by commas end up here as well.
            report.cell(line, column, text, f"{noun}, a number such as {example}", example)
            return None
        return float(plain.replace("−", "-"))

    place = [number("x_m", "metres", "12.50"), number("y_m", "metres", "40.00"), number("z_m", "metres", "0", 0.0)]
    for column in ("x_m", "y_m"):
        if not cells.get(column, ""):
            report.cell(line, column, Problem.MISSING, "the place of the mark in the site's metres", "12.50")
    for column, value in zip(("x_m", "y_m", "z_m"), place):
        if value is not None and abs(value) > _FARTHEST_M:
            report.cell(line, column, value, f"metres within {_FARTHEST_M:,.0f} m of the origin", "12.50")
    reading = [number("column", "pixels from the left", "52"), number("row", "pixels from the top", "91")]
    has = [bool(cells.get(column, "")) for column in ("column", "row")]
    if has[0] != has[1]:
        empty, full = ("row", "column") if has[0] else ("column", "row")
        report.say(f"line {line} {empty} is empty and {full} is not: read both, or leave both empty for a mark that was not read")
    height = number("height_m", "metres by tape", "4.02")
    bad = len(report.problems) > before
    return Row(line, camera, name, place, reading, not any(has), height, bad)
