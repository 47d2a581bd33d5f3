"""Texts of the user's in CSV files: what begins like a formula a spreadsheet computes, unless an apostrophe stands before it.

Tests: tests/prove/test_marksfile.py.
"""

from __future__ import annotations

import re

# With apostrophes before it too: those that were there must come back as they were.
_FORMULA = re.compile(r"'*[=+\-@\t\r]")


def cell_of(text: str) -> str:
    """The text as a cell that no spreadsheet computes."""
    return f"'{text}" if _FORMULA.match(text) else text


def text_of(cell: str) -> str:
    """The text of such a cell; a cell that was typed by hand stays as it is."""
    return cell[1:] if cell.startswith("'") and _FORMULA.match(cell) else cell
