"""What a report is made of: headings, lines and tables, each with a plain role; how they look is for whoever shows them."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass

# Roles of lines: a title, what was found, plain text, small print, the caution. Of pieces and cells also the verdicts.
TITLE, FINDING, TEXT, NOTE, CAUTION_ROLE, BAD, GOOD = "title", "finding", "text", "note", "caution", "bad", "good"
# Columns of words that may wrap, of numbers, and of words that are never broken (place codes).
LEFT, RIGHT, UNBROKEN = "left", "right", "unbroken"


@dataclass(frozen=True)
class Heading:
    """The heading of a part of a report."""

    text: str


@dataclass(frozen=True)
class Line:
    """A sentence or paragraph; `indent` in characters; `apart`: with a blank line above it."""

    text: str
    role: str = TEXT
    indent: int = 0
    apart: bool = False


@dataclass(frozen=True)
class Cell:
    """A piece of text in a table or a row; `below`: small print under it; `role`: a verdict, or one of the roles of lines."""

    text: str
    role: str = TEXT
    below: str = ""


@dataclass(frozen=True)
class Row:
    """Pieces side by side on one line, outside of any table."""

    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class Table:
    """Columns as (heading, LEFT, RIGHT or UNBROKEN); rows of text or cells, as many in each as there are columns."""

    columns: tuple[tuple[str, str], ...]
    rows: tuple[tuple[str | Cell, ...], ...]

    @classmethod
    def of(cls, columns: Sequence[tuple[str, str]], rows: Sequence[Sequence[str | Cell]]) -> Table:
        """A table from lists; ValueError for a row that does not fit the columns."""
        if any(len(row) != len(columns) for row in rows):
            raise ValueError(f"a row does not fit its {len(columns)} columns {[name for name, _ in columns]}")
        return cls(tuple(columns), tuple(tuple(row) for row in rows))


Block = Heading | Line | Row | Table


def written_lines(files: Sequence[str], left: Sequence[str] = ()) -> list[Block]:
    """Where the files of one folder were written, and which stayed because the user changed them."""
    names = ", ".join(os.path.basename(file) for file in files)
    lines: list[Block] = [Line(f"Written in {os.path.dirname(files[0]) or '.'}: {names}", apart=True)]
    if left:
        lines.append(Line(f"Left as they are, because they changed since fencecast wrote them: {', '.join(left)}"))
    return lines


def metres_cell(metres: float, units: str, verdict: str = "") -> Cell:
    """Whole metres with the feet below them when units are 'us'; in the role of its verdict when there are any."""
    from fencecast.findings.words import feet, whole

    role = verdict if verdict and metres >= 0.5 else TEXT
    return Cell(whole(metres), role, f"{whole(feet(metres))} ft" if units == "us" else "")


def words_of(blocks: Sequence[Block]) -> str:
    """All that the blocks say as plain text, a line each: for texts and for tests."""
    lines = []
    for block in blocks:
        if isinstance(block, Table):
            lines.append("  ".join(name for name, _ in block.columns))
            lines += ["  ".join(cell.text if isinstance(cell, Cell) else cell for cell in row) for row in block.rows]
        elif isinstance(block, Row):
            lines.append("  ".join(cell.text for cell in block.cells))
        else:
            lines.append(block.text)
    return "\n".join(lines)
