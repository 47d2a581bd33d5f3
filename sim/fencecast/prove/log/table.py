"""A CSV file as people and spreadsheets leave it, as rows of texts by column: log.csv, walkers.csv.

UTF-8 with or without a byte-order mark, and UTF-16 as spreadsheets write it; comma, semicolon or tab, found from the first line;
a first line `sep=;`; quoted cells; apostrophes before what a spreadsheet would compute; empty columns and rows at the end.

Tests: tests/prove/log/test_logtable.py.
"""

from __future__ import annotations

import csv
import hashlib
import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from fencecast.errors import InputError, Problem, did_you_mean, name_list, show_value
from fencecast.spreadsheet import text_of

MOST_BYTES = 10_000_000
MOST_SHOWN = 60
_AS = "save it again as CSV UTF-8"


@dataclass
class Row:
    """Cells by column, without blanks around them; `number` as a spreadsheet counts rows (the first line is row 1)."""

    number: int
    cells: Mapping[str, str]

    def __getitem__(self, column: str) -> str:
        return self.cells.get(column, "")


@dataclass
class Table:
    """What could be read of a file, and everything that is wrong with it so far; `close` raises it all at once."""

    file: str
    columns: tuple[str, ...] = ()
    rows: list[Row] = field(default_factory=list)
    sha256: str = ""
    problems: list[tuple[int, str]] = field(default_factory=list)

    def add(self, row: int, words: Problem | str) -> None:
        """One problem of a row; 1: of the first line; 0: of the whole file."""
        self.problems.append((row, str(words)))

    def refuse(self, row: Row, column: str, allowed: str, instead: str = "", fault: str = "is not allowed") -> None:
        """A cell that cannot be used, or a missing one."""
        value = row[column] or Problem.MISSING
        self.add(row.number, Problem(f"row {row.number} {show_name(column)}", value, allowed, instead, fault))

    def close(self) -> None:
        """InputError with all problems in order of rows, when there is one."""
        if not self.problems:
            return
        words = list(dict.fromkeys(text for _, text in sorted(self.problems, key=lambda each: each[0])))
        more = len(words) - MOST_SHOWN
        shown = [*words[:MOST_SHOWN], f"and {more} more, which show when these are mended"] if more > 0 else words
        raise InputError(shown, self.file)


def show_name(column: str) -> str:
    """A column's name in a message: bare when it is one plain word."""
    return column if column.replace("_", "").isalnum() and column.isascii() else show_value(column)


def read_table(path: str | Path, needed: Sequence[str], optional: Sequence[str], what: str) -> Table:
    """The rows of a file whose columns are among `needed` and `optional`, in any order; capital letters and blanks are forgiven.

    what: "the log of the walks", for messages. InputError at once when there is no table to read; other problems are kept.
    """
    data = _bytes_of(path, what)
    table = Table(str(path), sha256=hashlib.sha256(data).hexdigest())
    text = _text_of(data, table.file, what)
    records = list(_records(text, (*needed, *optional), table))
    first = next((at for at, record in enumerate(records) if any(record)), None)
    if first is None:
        raise InputError([f"is empty: {what} begins with a line of column names; type {_example(needed)}"], table.file)
    columns = _columns(records[first], needed, optional, table)
    table.columns = tuple(name for name in columns if name)
    for number, record in enumerate(records[first + 1 :], start=first + 2):
        if not any(record):
            continue
        beyond = [cell for at, cell in enumerate(record) if cell and (at >= len(columns) or not columns[at])]
        if beyond:
            unnamed = name_list(beyond[:3])
            table.add(
                number, f"row {number} has more fields than there are columns ({unnamed}): put a text with commas in quotes"
            )
        table.rows.append(Row(number, {name: text for name, text in zip(columns, record, strict=False) if name}))
    return table


def _bytes_of(path: str | Path, what: str) -> bytes:
    try:
        with Path(path).open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise InputError([f"cannot be read: {reason}; type the path of {what}"], str(path)) from None
    if len(data) > MOST_BYTES:
        raise InputError([f"has more than {MOST_BYTES // 1_000_000} MB: this is not {what}"], str(path))
    return data


def _text_of(data: bytes, file: str, what: str) -> str:
    if data[:4] in (b"PK\x03\x04", b"\xd0\xcf\x11\xe0"):
        raise InputError([f"is a spreadsheet, and {what} is a CSV file: open it there and {_AS}"], file)
    wide = data[:2] in (b"\xff\xfe", b"\xfe\xff")
    try:
        text = data.decode("utf-16" if wide else "utf-8-sig")
    except UnicodeDecodeError as error:
        if wide:
            raise InputError([f"is cut off or no text: {_AS}"], file) from None
        row = data[: error.start].count(b"\n") + 1
        raise InputError([f"row {row} holds letters that are no UTF-8: open it in the spreadsheet and {_AS}"], file) from None
    if "\0" in text:
        raise InputError([f"holds signs of no text (zero bytes; UTF-16 without its mark?): {_AS}"], file)
    return text


def _records(text: str, known: Sequence[str], table: Table) -> Iterator[list[str]]:
    """Cells without blanks around them; what stands in quotes may hold the separator."""
    first, _, rest = text.lstrip("\r\n").partition("\n")
    separator = ""
    if first.strip().lower().startswith("sep=") and len(first.strip()) == 5:
        separator, text = first.strip()[4], rest
        first = rest.partition("\n")[0]
    separator = separator or _separator(first.partition("\r")[0], known)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    try:
        for record in reader:
            yield [text_of(" ".join(cell.split())) for cell in record]
    except csv.Error as error:
        raise InputError(
            [f"row {reader.line_num} cannot be split into cells ({error}): is a quote left open there?"], table.file
        ) from None


def _separator(first: str, known: Sequence[str]) -> str:
    """Of comma, semicolon and tab the one that finds most of the known names in the first line."""
    names = {_plain(name) for name in known}
    return max((",", ";", "\t"), key=lambda mark: sum(_plain(cell.strip(' "')) in names for cell in first.split(mark)))


def _plain(name: str) -> str:
    return "_".join(name.replace("-", " ").replace("_", " ").split()).casefold()


def _columns(header: list[str], needed: Sequence[str], optional: Sequence[str], table: Table) -> list[str]:
    """The known name of each column, "" for one without a name."""
    exact = dict.fromkeys((*needed, *optional))
    plain: dict[str, list[str]] = {}
    for name in exact:
        plain.setdefault(_plain(name), []).append(name)
    columns: list[str] = []
    for cell in header:
        near = plain.get(_plain(cell), [])
        name = cell if cell in exact else near[0] if len(near) == 1 else ""
        if cell and not name:
            known = [each for each in exact if each not in columns]
            hint = did_you_mean(cell, known) or ";"
            table.add(1, f"column {show_value(cell)} is not known{hint} the columns are {name_list(exact)}")
        if name and name in columns:
            table.add(1, f"column {show_value(name)} stands there twice: take one of them out")
            name = ""
        columns.append(name)
    missing = [name for name in needed if name not in columns]
    if missing:
        table.add(
            1, f"column{'s' if len(missing) > 1 else ''} {name_list(missing)} missing: name {_them(missing)} in the first line"
        )
    return columns


def _them(names: Sequence[str]) -> str:
    return "it" if len(names) == 1 else "them"


def _example(needed: Sequence[str]) -> str:
    return ",".join(needed)
