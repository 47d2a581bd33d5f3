"""`fc.Results`: what a run found, which shows itself in a notebook and in a console: the verdict, the classes, the caution."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from fencecast.estimate.results import Results as Found
from fencecast.findings.blocks import (
    CAUTION_ROLE,
    FINDING,
    NOTE,
    RIGHT,
    TITLE,
    Block,
    Cell,
    Heading,
    Line,
    Row,
    Table,
)
from fencecast.findings.run import class_blocks, verdict_sentence
from fencecast.findings.tradefacts import trade_of
from fencecast.findings.tradeoff import settings_blocks
from fencecast.findings.tradewords import trade_sentences
from fencecast.findings.words import plural

# Inline, because a notebook's own page stays as it is. No colours of paper: they must be readable on a dark page too.
_GAP = "padding:.1em .6em"
_BOLD = "font-weight:bold"
_STYLES = {TITLE: f"{_BOLD};font-size:1.1em", FINDING: _BOLD, NOTE: "opacity:.75", CAUTION_ROLE: _BOLD}
_CELL_STYLES = {"weak": _BOLD, "undecided": "font-style:italic"}


class Results(Found):
    """What a run found: the Dataset (`data`) with its site, sections, classes and places; `Results.of(fc.run(site))`.

    In a notebook it shows itself. `results["pd"]` is a variable, `sel("A 10-12 m", weather="clear night")` a part of the Dataset
    by the codes that are printed, `weak_places`, `summaries` and `sections` are lists of plain objects.
    """

    def __repr__(self) -> str:
        return _as_text(self._blocks())

    def _repr_html_(self) -> str:
        return _as_html(self._blocks())

    def _blocks(self) -> list[Block]:
        blocks: list[Block] = [Line(str(self.attrs["title"]), TITLE)]
        if "variant" in self.sizes:
            names = ", ".join(f'"{name}"' for name in self["variant"].values)
            blocks.append(Line(f"Comparison of {plural(self.sizes['variant'], 'design')} on the same crossings: {names}."))
        elif "setting" in self.sizes:
            trade = trade_of(self)
            blocks += [Line(text, FINDING) for text in trade_sentences(trade, self.units)]
            blocks += [block for block in settings_blocks(trade) if isinstance(block, Table)]
        else:
            # The table has its own heading in a report; here the verdict stands above it.
            table = [block for block in class_blocks(self) if not isinstance(block, Heading)]
            blocks += [Line(verdict_sentence(self), FINDING), *table]
        made = f"fencecast {self.attrs['version']} · seed {self.attrs['seed']} · {int(self.attrs['crossings_total']):,} crossings"
        return [*blocks, Line(made, NOTE), Line(str(self.attrs["caution"]), CAUTION_ROLE)]


def _as_html(blocks: Sequence[Block]) -> str:
    """The blocks as one piece of HTML: every text escaped, no script, no style sheet."""
    return "<div>" + "".join(_html(block) for block in blocks) + "</div>"


def _html(block: Block) -> str:
    if isinstance(block, Heading):
        return f"<p><b>{escape(block.text)}</b></p>"
    if isinstance(block, Line):
        return f'<p style="{_STYLES.get(block.role, "")}">{escape(block.text)}</p>'
    if isinstance(block, Row):
        return f"<p>{' '.join(escape(cell.text) for cell in block.cells)}</p>"
    sides = ["right" if side == RIGHT else "left" for _, side in block.columns]
    heads = "".join(f'<th style="text-align:{side};{_GAP}">{escape(name)}</th>' for (name, _), side in zip(block.columns, sides))
    rows = "".join("<tr>" + "".join(_html_cell(cell, side) for cell, side in zip(row, sides)) + "</tr>" for row in block.rows)
    return f"<table><thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table>"


def _html_cell(cell: str | Cell, side: str) -> str:
    cell = Cell(cell) if isinstance(cell, str) else cell
    below = f"<br><small>{escape(cell.below)}</small>" if cell.below else ""
    look = _CELL_STYLES.get(cell.role, "")
    return f'<td style="text-align:{side};{_GAP};{look}">{escape(cell.text)}{below}</td>'


def _as_text(blocks: Sequence[Block]) -> str:
    """The blocks as plain text, columns one below the other."""
    lines: list[str] = []
    for block in blocks:
        if isinstance(block, Table):
            lines += _text_table(block)
        elif isinstance(block, Row):
            lines.append("  ".join(cell.text for cell in block.cells))
        else:
            lines.append(block.text)
    return "\n".join(lines)


def _text_table(table: Table) -> list[str]:
    rows = [[name for name, _ in table.columns]]
    rows += [[cell.text if isinstance(cell, Cell) else cell for cell in row] for row in table.rows]
    widths = [max(len(row[k]) for row in rows) for k in range(len(table.columns))]
    right = [side == RIGHT for _, side in table.columns]

    def line(row: list[str]) -> str:
        return "  ".join(text.rjust(w) if side else text.ljust(w) for text, w, side in zip(row, widths, right)).rstrip()

    return [line(row) for row in rows]
