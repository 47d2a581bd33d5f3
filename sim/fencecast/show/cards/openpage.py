"""The page for walker and caller: their rules and where the alarm line lies, in 12 points; it may lie open."""

from __future__ import annotations

from fencecast.show.cards.data import CardsData
from fencecast.show.cards.sheets import Flow, Sheets
from fencecast.show.paper.text import wrap

TYPE, STEP_MM, HEAD = 12.0, 5.2, 14.0
NUMBER_MM = 7.0


def draw_open(sheets: Sheets, data: CardsData) -> None:
    """One page; more only where the alarm lines take many words."""
    flow = Flow(sheets, data.open.bar, "Rules for walker and caller")
    flow.y += 2.0
    _text(flow, data.open.alarm_line, "bold")
    _text(flow, data.open.people)
    for heading, rules in (("The walker (read this out)", data.open.walker_rules), ("The caller", data.open.caller_rules)):
        flow.need(8.0 + 2 * STEP_MM)
        flow.y += 3.0
        flow.page.text(flow.page.left, flow.y, heading, size=HEAD, weight="bold")
        flow.y += 8.0
        for number, text in enumerate(rules, start=1):
            lines = wrap(text, flow.page.right - flow.page.left - NUMBER_MM, TYPE)
            flow.need(STEP_MM * len(lines))
            flow.page.text(flow.page.left, flow.y, f"{number}", size=TYPE, weight="bold")
            flow.y = flow.page.lines_of_text(flow.page.left + NUMBER_MM, flow.y, lines, STEP_MM, size=TYPE) + 1.8


def _text(flow: Flow, text: str, weight: str = "normal") -> None:
    lines = wrap(text, flow.page.right - flow.page.left, TYPE, weight)
    flow.y = flow.page.lines_of_text(flow.page.left, flow.y, lines, STEP_MM, size=TYPE, weight=weight) + 3.0
