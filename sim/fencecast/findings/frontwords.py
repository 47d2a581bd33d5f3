"""The rows of the cost-performance front: their files, bills, cost per metre, and where the knee is."""

from __future__ import annotations

from collections.abc import Sequence

from fencecast.decide.place.bill import MASTS, PARTS, WORK, Item
from fencecast.decide.place.proposal import Proposal, Step
from fencecast.findings.blocks import LEFT, NOTE, RIGHT, Block, Heading, Line, Table
from fencecast.findings.designtitles import cost_text
from fencecast.findings.words import whole

PROPOSAL = "proposal.toml"
KINDS = (PARTS, MASTS, WORK)


def row_file(number: int, steps: int) -> str:
    """The site file of row `number` from 0: the last is the proposal."""
    return PROPOSAL if number == steps - 1 else f"front-{number + 1}.toml"


def per_metre(step: Step, unit: str) -> str:
    """Cost for each metre that meets the requirement."""
    if step.meets_m <= 0.0 or step.cost <= 0.0:
        return "-"
    each = step.cost / step.meets_m
    return f"{each:.3f}" if unit == "cameras" else f"{each:,.2f}" if each < 10.0 else f"{each:,.0f}"


def knee_of(steps: Sequence[Step]) -> int | None:
    """The row, from 0, that lies farthest above the line from the first to the last row in cost and metres that meet; or None."""
    if len(steps) < 3:
        return None
    cost, gain = steps[-1].cost - steps[0].cost, steps[-1].meets_m - steps[0].meets_m
    if cost <= 0.0 or gain <= 0.0:
        return None
    above = [(s.meets_m - steps[0].meets_m) / gain - (s.cost - steps[0].cost) / cost for s in steps]
    best = max(range(len(steps)), key=lambda k: above[k])
    return best if above[best] > 0.05 else None


def knee_text(steps: Sequence[Step], unit: str) -> str:
    """`The knee is row 2: ...`; '' for a front without one."""
    k = knee_of(steps)
    if k is None:
        return ""
    before = (steps[k].cost - steps[0].cost) / max(steps[k].meets_m - steps[0].meets_m, 1e-9)
    gained = steps[-1].meets_m - steps[k].meets_m
    text = f"The knee is row {k + 1}: {whole(steps[k].meets_m)} m meet for {cost_text(steps[k].cost, unit)}"
    if gained < 0.5:
        return f"{text}; what is paid beyond it adds no metre that meets."
    after = (steps[-1].cost - steps[k].cost) / gained
    return f"{text}; up to there a metre more costs {_rate(before, unit)}, beyond it {_rate(after, unit)}."


def _rate(value: float, unit: str) -> str:
    return f"{value:.2f} cameras" if unit == "cameras" else cost_text(value, unit)


def mast_sentence(items: Sequence[Item]) -> str:
    """How the price of a mounting is charged, where the bill has any; the search adds prices up, camera by camera."""
    if not any(item.kind == MASTS and item.total > 0.0 for item in items):
        return ""
    return (
        "The price of a [[mounting]] is charged for every new camera there. fencecast bill charges a mast once, and cameras "
        "within 2 m of each other share one: its sum may be lower."
    )


def bill_blocks(proposal: Proposal) -> list[Block]:
    """What each row of the front costs, by kind, and its site file; then the proposal's bill (all items in bill.csv, --json)."""
    bill = proposal.rows[-1].bill if proposal.rows else ()
    if not bill:
        return []
    unit, count, priced = proposal.kit.unit, len(proposal.rows), proposal.kit.priced
    sums = []
    for k, (step, row) in enumerate(zip(proposal.steps, proposal.rows, strict=True)):
        by_kind = [sum(item.total if priced else item.count for item in row.bill if item.kind == kind) for kind in KINDS]
        cells = [f"{value:,.0f}" for value in by_kind]
        sums.append([row_file(k, count), *cells, cost_text(step.cost, unit), per_metre(step, unit)])
    kinds = [(kind if priced else f"{kind}, number", RIGHT) for kind in KINDS]
    front = Table.of([("site file", LEFT), *kinds, ("cost", RIGHT), ("per metre that meets", RIGHT)], sums)
    rows = [[item.kind, item.name, str(item.count)] for item in bill]
    columns = [("kind", LEFT), ("item", LEFT), ("number", RIGHT)]
    if proposal.kit.priced:
        rows = [[*row, f"{item.each:,.0f}", f"{item.total:,.0f}"] for row, item in zip(rows, bill)]
        rows.append(["", "all", "", "", f"{sum(item.total for item in bill):,.0f}"])
        columns += [("each", RIGHT), ("price", RIGHT)]
    title = Heading("The rows of the front: their site files and bills")
    said = mast_sentence(bill)
    note = [Line(said, NOTE)] if said else []
    return [title, front, Heading("The bill of the proposal, beside the site as it is"), Table.of(columns, rows), *note]
