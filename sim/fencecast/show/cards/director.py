"""The director's pages: what the walks are to show, the plan, the rules, the ladder, and the prediction for every card."""

from __future__ import annotations

from collections.abc import Sequence

from fencecast.findings.walkladder import LadderWords
from fencecast.findings.walkwords import ClaimRow
from fencecast.show.cards.data import CardsData, DirectorData
from fencecast.show.cards.lanes import draw_lanes
from fencecast.show.cards.sheets import Flow, Sheets, middle_cut
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import wrap

TYPE, STEP_MM = 7.5, 3.35
GAP_MM = 4.2
CLAIM_COLUMNS = {"claim": 0.0, "where": 13.0, "walks": 52.0, "misses": 71.0, "pd": 86.0, "chance": 114.0, "shows": 146.0}
CLAIM_HEADS = {"claim": "claim", "where": "where", "walks": "walks", "misses": "misses allowed", "pd": "predicted Pd",
               "chance": "chance of passing: as predicted / low end / prior", "shows": "what it shows"}  # fmt: skip
PLAN_MM = (90.0, 78.0)
BESIDE_MM = 5.0
TICK_MM = 2.6
MOST_LINES = 5  # of a cell in the table of claims
MOST_BOXES = 4  # rungs side by side
PREDICTION_COLUMNS = 3
PREDICTION_MM = 3.3
NO_LADDER = "No ladder, for no claim is made: walk every card once"
SIGNED = ("director", "witness", "date")


def draw_director(sheets: Sheets, data: CardsData) -> None:
    """As many pages as are needed; the plan, the rules and the ladder come first."""
    director = data.director
    aim = "shown" if director.ladders else "learnt"
    flow = Flow(sheets, director.bar, f"Walk test: what is to be {aim}", data.weak_places)
    _finding(flow, director.finding)
    _claims(flow, director.claims)
    _plan_and_rules(flow, director)
    _alarm_line(flow, director.alarm_line)
    for ladder in director.ladders:
        _ladder(flow, ladder)
    if not director.ladders:
        flow.heading(NO_LADDER, 0.0)
        flow.y += GAP_MM - 3.0
    _limits(flow, director)
    _signatures(flow)
    half = -(-len(director.statements) // 2)
    _two_columns(flow, (("What the walks can show and what not", director.statements[:half]), ("", director.statements[half:])))
    _predictions(flow, director)


def _finding(flow: Flow, text: str) -> None:
    lines = wrap(text.replace(" %", "\u00a0%"), flow.page.right - flow.page.left, 10.5, "bold")
    flow.y = flow.page.lines_of_text(flow.page.left, flow.y + 1.6, lines, 4.8, size=10.5, weight="bold") + 1.0


def _claims(flow: Flow, rows: Sequence[ClaimRow]) -> None:
    page, names = flow.page, list(CLAIM_COLUMNS)
    x = {name: page.left + offset for name, offset in CLAIM_COLUMNS.items()}
    ends = [*list(x.values())[1:], page.right + 0.6]  # in a PDF letters are a hair wider
    for k, row in enumerate([None, *rows]):
        cells = CLAIM_HEADS if row is None else {name: getattr(row, name) for name in names}
        weights = {name: "bold" if row is not None and name == "where" else "normal" for name in names}
        lines = {
            name: wrap(cells[name], end - x[name] - 2.0, style.LABEL, weights[name], MOST_LINES) for name, end in zip(names, ends)
        }
        height = 3.0 * max(len(each) for each in lines.values()) + 1.9
        flow.need(height)
        for name in names:
            colour = style.SECOND if row is None else style.INK
            flow.page.lines_of_text(x[name], flow.y, lines[name], 3.0, weight=weights[name], colour=colour)
        flow.y += height
        _rule(flow.page, flow.y - 3.2, 0.8 if k == 0 else 0.5, style.INK if k == 0 else style.GUIDE)
        flow.y += 0.6
    flow.y += GAP_MM - 1.6


def _rule(page: Page, y: float, points: float, colour: str) -> None:
    page.line([page.left, page.right], [y, y], colour=colour, points=points)


def _numbered(page: Page, x: float, y: float, width: float, texts: Sequence[str]) -> float:
    for number, text in enumerate(texts, start=1):
        page.text(x, y, f"{number}", size=TYPE, weight="bold")
        y = page.lines_of_text(x + 4.5, y, wrap(text, width - 4.5, TYPE), STEP_MM, size=TYPE) + 1.0
    return y


def _height(texts: Sequence[str], width: float) -> float:
    return sum(STEP_MM * len(wrap(text, width - 4.5, TYPE)) + 1.0 for text in texts)


def _plan_and_rules(flow: Flow, data: DirectorData) -> None:
    width = flow.page.right - flow.page.left - PLAN_MM[0] - BESIDE_MM
    rules = _height(data.rules, width)
    flow.heading("Plan", max(PLAN_MM[1], rules))
    page, top = flow.page, flow.y
    beside = page.left + PLAN_MM[0] + BESIDE_MM
    page.text(beside, top - 4.6, "Rules of the test", size=style.HEAD, weight="bold")
    y = _numbered(page, beside, top, width, data.rules)
    high = max(PLAN_MM[1], y - top - 1.0)
    draw_lanes(page, page.left, top - 2.4, PLAN_MM[0], high, data.lanes)
    flow.y = top + high + GAP_MM


def _alarm_line(flow: Flow, text: str) -> None:
    lines = wrap(text, flow.page.right - flow.page.left, TYPE, "bold")
    flow.need(STEP_MM * len(lines))
    flow.y = flow.page.lines_of_text(flow.page.left, flow.y, lines, STEP_MM, size=TYPE, weight="bold") + GAP_MM


def _two_columns(flow: Flow, columns: Sequence[tuple[str, Sequence[str]]]) -> None:
    width = 0.5 * (flow.page.right - flow.page.left - BESIDE_MM)
    height = max(_height(texts, width) for _, texts in columns)
    flow.need(4.6 + height)
    page, top = flow.page, flow.y
    for k, (heading, texts) in enumerate(columns):
        x = page.left + k * (width + BESIDE_MM)
        page.text(x, top, heading, size=style.HEAD, weight="bold")
        y = top + 4.6
        for text in texts:
            page.dot(x + 1.0, y - 0.9, 0.9)
            y = page.lines_of_text(x + 4.5, y, wrap(text, width - 4.5, TYPE), STEP_MM, size=TYPE) + 1.0
    flow.y = top + 4.6 + height + GAP_MM - 1.4


def tick(page: Page, x: float, y: float, size: float = TICK_MM) -> None:
    """A small square to tick, on the baseline y."""
    page.rect(x, y - size + 0.3, size, size, edge=style.INK, points=0.7)


def _ladder(flow: Flow, ladder: LadderWords) -> None:
    """A strip: one box a rung, with a square for each outcome."""
    left, room = flow.page.left, flow.page.right - flow.page.left
    across = min(len(ladder.rungs), MOST_BOXES)
    width = room / across
    lines = [[wrap(f"{seen}: {done}", width - 8.0, TYPE) for seen, done in rung.outcomes] for rung in ladder.rungs]
    heights = [5.2 + sum(STEP_MM * len(each) + 0.8 for each in rung) for rung in lines]
    rows = [range(first, min(first + across, len(lines))) for first in range(0, len(lines), across)]
    flow.heading(f"Ladder of {ladder.claim}; {ladder.end}", sum(max(heights[k] for k in row) + 1.0 for row in rows))
    for row in rows:
        height = max(heights[k] for k in row)
        for column, k in enumerate(row):
            x, y = left + column * width, flow.y - 2.4
            flow.page.rect(x, y, width, height, edge=style.LINE, points=0.7)
            flow.page.text(x + 1.5, y + 3.6, ladder.rungs[k].heading, size=TYPE, weight="bold")
            at = y + 3.6 + STEP_MM + 0.6
            for each in lines[k]:
                tick(flow.page, x + 1.5, at)
                at = flow.page.lines_of_text(x + 6.0, at, each, STEP_MM, size=TYPE) + 0.8
        flow.y += height + 1.0
    flow.y += GAP_MM - 2.0


def _limits(flow: Flow, data: DirectorData) -> None:
    """Exact lower limits, one row for each number of walks."""
    if not data.limits:
        return
    flow.heading(
        "What so many walks show: Pd at least, exact, one-sided (a verdict is by the ladder)",
        4.4 + 3.6 * min(len(data.limits), 12),
    )
    first, step = flow.page.left + 34.0, 17.0
    flow.page.text(flow.page.left, flow.y, "misses", size=style.LABEL, colour=style.SECOND)
    for k in range(data.most_misses + 1):
        flow.page.text(first + k * step, flow.y, f"{k}", size=style.LABEL, colour=style.SECOND, ha="right")
    _rule(flow.page, flow.y + 1.3, 0.8, style.INK)
    flow.y += 4.4
    for name, limits in data.limits:
        flow.need(3.6)
        flow.page.text(flow.page.left, flow.y, name, size=style.LABEL)
        for k, text in enumerate(limits):
            flow.page.text(first + k * step, flow.y, text, size=style.LABEL, ha="right", weight="bold" if k == 0 else "normal")
        flow.y += 3.6
    flow.y += GAP_MM - 2.0


def _signatures(flow: Flow) -> None:
    flow.need(12.0)
    page, gap = flow.page, 4.0
    width = (page.right - page.left - gap * (len(SIGNED) - 1)) / len(SIGNED)
    for k, name in enumerate(SIGNED):
        x = page.left + k * (width + gap)
        page.line([x, x + width], [flow.y + 6.0, flow.y + 6.0], points=0.7)
        page.text(x, flow.y + 9.2, name, size=style.LABEL, colour=style.SECOND)
    flow.y += 12.0 + GAP_MM


def _predictions(flow: Flow, data: DirectorData) -> None:
    """Cards in columns from above to below; each page holds whole columns."""
    rows = list(data.predictions)
    width = (flow.page.right - flow.page.left + BESIDE_MM) / PREDICTION_COLUMNS
    heads = ("card", "place", "gait", "claim", "Pd")
    edges = (0.0, 6.5, 28.5, 43.0, width - BESIDE_MM)
    heading = "Prediction for every walk, in the order of the cards (bold: below the requirement)"
    while rows:
        whole = -(-len(rows) // PREDICTION_COLUMNS)
        if flow.left_mm < 8.0 + PREDICTION_MM * min(whole, 12):
            flow.need(1e9)
        flow.page.text(flow.page.left, flow.y, heading, size=style.HEAD, weight="bold")
        flow.y += 4.8
        high = min(whole, int((flow.left_mm - 4.0) / PREDICTION_MM))
        taken, rows = rows[: high * PREDICTION_COLUMNS], rows[high * PREDICTION_COLUMNS :]
        for column in range(-(-len(taken) // high)):
            x, y = flow.page.left + column * width, flow.y
            for edge, text in zip(edges, heads):
                flow.page.text(x + edge, y, text, size=style.SMALL, colour=style.SECOND, ha="right" if text == "Pd" else "left")
            flow.page.line([x, x + width - BESIDE_MM], [y + 1.2, y + 1.2], points=0.6)
            for row in taken[column * high : (column + 1) * high]:
                y += PREDICTION_MM + (0.7 if y == flow.y else 0.0)
                cells, weight = (row.card, row.place, row.gait, row.claim), "bold" if row.weak else "normal"
                for k, (edge, text) in enumerate(zip(edges, cells)):
                    room = (edges[k + 1] if k + 1 < len(cells) else edges[-1] - 6.5) - edge - 0.8
                    text = middle_cut(text, room, style.SMALL, weight)
                    flow.page.text(x + edge, y, text, size=style.SMALL, weight=weight)
                flow.page.text(x + edges[-1], y, row.pd, size=style.SMALL, weight=weight, ha="right")
        flow.y += 4.0 + PREDICTION_MM * high + GAP_MM
