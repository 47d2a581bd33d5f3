"""How tables and paragraphs look in a terminal: one style for all commands, words before colours."""

from __future__ import annotations

import os
from collections.abc import Sequence

# Columns of words that may wrap, of numbers, and of words that stay whole (place codes).
LEFT, RIGHT, WHOLE = "left", "right", "whole"
VERDICT_STYLES = {"meets": "cyan", "undecided": "yellow", "weak": "bold red", "no data": "dim"}


def heading(text: str):
    """A heading with a blank line above it."""
    from rich.text import Text

    return Text(f"\n{text}", style="bold")


def paragraph(text: str, style: str = "", indent: int = 0):
    """Text that wraps at blanks, all of its lines indented."""
    from rich.padding import Padding
    from rich.text import Text

    return Padding(Text(text, style=style), (0, 0, 0, indent))


def table(columns: Sequence[tuple[str, str]], rows: Sequence[Sequence]):
    """A table: columns as (heading, LEFT, RIGHT or WHOLE), cells as text or rich Text.

    Numbers stay whole; where the terminal is narrow, columns of words wrap.
    """
    from rich.box import SIMPLE_HEAD
    from rich.table import Table

    grid = Table(box=SIMPLE_HEAD, pad_edge=False, show_edge=False, header_style="", padding=(0, 1, 0, 0))
    for name, side in columns:
        grid.add_column(name, justify=RIGHT if side == RIGHT else LEFT, no_wrap=side != LEFT, vertical="top")
    for row in rows:
        grid.add_row(*row)
    return grid


def written(files: Sequence[str]):
    """Where files of one folder were written, and which."""
    names = ", ".join(os.path.basename(file) for file in files)
    return paragraph(f"\nWritten in {os.path.dirname(files[0]) or '.'}: {names}")


def styled(text: str, style: str):
    """A table cell in a style."""
    from rich.text import Text

    return Text(text, style=style)
