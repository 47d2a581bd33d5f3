"""How blocks of findings look in a terminal: one style for all commands, words before colours."""

from __future__ import annotations

from collections.abc import Sequence

from fencecast.findings.blocks import RIGHT, UNBROKEN, Block, Cell, Heading, Line, Row

STYLES = {
    "title": "bold", "finding": "bold", "text": "", "note": "dim", "caution": "bold", "bad": "bold red", "good": "cyan",
    "meets": "cyan", "undecided": "yellow", "weak": "bold red", "no data": "dim",
}  # fmt: skip


def rendered(blocks: Sequence[Block]) -> list:
    """What `output.say` prints, one for each block."""
    return [_rendered(block) for block in blocks]


def _rendered(block: Block):
    from rich.padding import Padding
    from rich.text import Text

    if isinstance(block, Heading):
        return Text(f"\n{block.text}", style="bold")
    if isinstance(block, Line):
        # Padding indents every line of a paragraph, not the first alone.
        return Padding(Text(block.text, style=STYLES[block.role]), (int(block.apart), 0, 0, block.indent))
    if isinstance(block, Row):
        return Text("  ").join(Text(cell.text, style=STYLES[cell.role]) for cell in block.cells)
    return _table(block)


def _table(table):
    """Numbers are never broken; where the terminal is narrow, columns of words wrap."""
    from rich.box import SIMPLE_HEAD
    from rich.table import Table as Grid

    grid = Grid(box=SIMPLE_HEAD, pad_edge=False, show_edge=False, header_style="", padding=(0, 1, 0, 0))
    for name, side in table.columns:
        grid.add_column(name, justify="right" if side == RIGHT else "left", no_wrap=side in (RIGHT, UNBROKEN), vertical="top")
    for row in table.rows:
        grid.add_row(*(_cell(cell) for cell in row))
    return grid


def _cell(cell: str | Cell):
    from rich.text import Text

    if isinstance(cell, str):
        return cell
    below = ("\n" + cell.below, STYLES["note"]) if cell.below else ""
    return Text.assemble((cell.text, STYLES[cell.role]), below)
