"""What `fencecast bill` says: the bill line by line, what a metre that meets costs, designs side by side, what has no price."""

from __future__ import annotations

from collections.abc import Sequence

from fencecast.cautions import CAUTION
from fencecast.decide.bill.bill import Bills
from fencecast.decide.bill.lines import Bill, BillLine
from fencecast.findings.billwords import notes_of
from fencecast.findings.blocks import (
    BAD,
    CAUTION_ROLE,
    FINDING,
    LEFT,
    NOTE,
    RIGHT,
    TITLE,
    Block,
    Cell,
    Heading,
    Line,
    Table,
    metres_cell,
)
from fencecast.findings.moneywords import (
    NO_PRICE,
    difference_text,
    money_text,
    number_of_text,
    rate_of_money_text,
    unit_price_text,
)
from fencecast.findings.words import metres_text
from fencecast.spreadsheet import cell_of
from fencecast.units import METRES_PER_FOOT

CSV_COLUMNS = ("option", "kind", "item", "number", "unit", "each", "total", "currency", "price_date", "key")
# More designs side by side than this leave no room for their quantities: the first and the last are shown.
_MOST_COLUMNS = 5


def bill_blocks(bills: Bills) -> list[Block]:
    """The report, top to bottom."""
    base = bills.bills[0]
    blocks: list[Block] = [Line(bills.site.title, TITLE), Line(total_sentence(base, bills.currency), FINDING)]
    blocks += [Line(sentence) for sentence in metre_sentences(bills, base)]
    heading = "The bill" if len(bills.bills) == 1 else f"The bill: {base.name}"
    blocks += [Heading(heading), _lines_table(base), Line(_counts_sentence(base), NOTE)]
    if len(bills.bills) > 1:
        blocks += [Heading("Side by side"), options_table(bills), *_differing(bills)]
    notes = notes_of(bills)
    if notes:
        blocks += [Heading("To know"), *(Line(note.text, BAD if note.wrong else NOTE) for note in notes)]
    return [*blocks, Line(CAUTION, CAUTION_ROLE, apart=True)]


def total_sentence(bill: Bill, currency: str) -> str:
    """`In all 12,400 EUR.`; where something has no price `At least ...`, with its names."""
    if bill.total is None:
        return "Quantities alone: no line has a price."
    if bill.complete:
        return f"In all {money_text(bill.total, currency)}."
    return f"At least {money_text(bill.total, currency)}, without what has no price: {unpriced_words(bill)}."


def unpriced_words(bill: Bill) -> str:
    """The lines without a price with their numbers: `mast, 4 m (3), walk test (16 h)`."""
    return ", ".join(f"{line.name} ({_quantity(line)})" for line in bill.unpriced)


def metre_sentences(bills: Bills, bill: Bill) -> list[str]:
    """What a metre of fence costs, and a metre that meets; why there is no such number where there is none."""
    units, currency = bills.site.units, bills.currency
    least = "" if bill.complete else "at least "
    fence = metres_text(bill.fence_m, units)
    lines = [] if bill.per_fence_m is None else [f"{fence} of fence: {least}{_per(bill.per_fence_m, currency, units)}."]
    if bill.meets_m is None:
        return [*lines, "Not simulated: what a metre that meets costs needs results of this site (--results)."]
    classes = bills.simulated.classes
    where = (
        f"every weather class simulated ({len(classes)}: {', '.join(classes)})" if classes else "every weather class simulated"
    )
    if bill.meets_m <= 0.0:
        return [*lines, f"No metre meets the requirement in {where}: there is no cost of a metre that meets."]
    met = f"{metres_text(bill.meets_m, units)} of {fence} meet the requirement in {where}"
    price = "" if bill.per_meets_m is None else f": {least}{_per(bill.per_meets_m, currency, units)} that meets"
    return [*lines, f"{met}{price}."]


def _per(value: float, currency: str, units: str) -> str:
    text = f"{rate_of_money_text(value, currency)} a metre"
    return f"{text} ({rate_of_money_text(value * METRES_PER_FOOT)} a foot)" if units == "us" else text


def _quantity(line: BillLine) -> str:
    return f"{number_of_text(line.number)} {line.unit}".rstrip()


def _price_cell(value: float | None, text: str) -> Cell:
    return Cell(text) if value is not None else Cell(NO_PRICE, BAD)


def _lines_table(bill: Bill) -> Table:
    rows: list[list[str | Cell]] = []
    for line in bill.lines:
        each, total = (_price_cell(line.each, unit_price_text(line.each)), _price_cell(line.total, money_text(line.total)))
        rows.append([line.kind, line.name, _quantity(line), each, total])
    if bill.total is not None:
        rows.append(["", "all" if bill.complete else "all that have a price", "", "", money_text(bill.total)])
    columns = [("kind", LEFT), ("item", LEFT), ("number", RIGHT), ("each", RIGHT), ("total", RIGHT)]
    return Table.of(columns, rows)


def _counts_sentence(bill: Bill) -> str:
    """Quantities by sensor, lens and mast, whatever has a price of its own."""
    if not bill.cameras:
        return "No camera is in it yet; fencecast place proposes some."
    parts = [f"sensors: {_named(bill.sensors)}", f"lenses: {_named(bill.lenses)}"]
    return "; ".join([f"Cameras: {bill.cameras}", *parts, f"masts: {bill.masts}"]) + "."


def _named(counts: dict[str, int]) -> str:
    return ", ".join(f"{name} {count}" for name, count in counts.items())


def options_table(bills: Bills) -> Table:
    """Every design in a row: its cameras and masts, total, difference, metres that meet, cost of one of these.

    Narrow on purpose, because numbers are never broken: what a number is worth stands below it.
    """
    base, units, rows = bills.bills[0], bills.site.units, []
    for bill in bills.bills:
        least = "" if bill.complete else "at least"
        name = Cell(bill.name, below=f"{_count(bill.cameras, 'camera')}, {_count(bill.masts, 'mast')}")
        row: list[str | Cell] = [name, Cell(money_text(bill.total), below=least if bill.total is not None else "")]
        row.append("" if bill is base else difference_text(bill.less(base)))
        if bill.meets_m is None:
            row += [Cell("not", below="simulated"), "-"]
        elif bill.per_meets_m is None:
            row += [metres_cell(bill.meets_m, units), "no metre meets" if bill.meets_m <= 0.0 else NO_PRICE]
        else:
            row += [metres_cell(bill.meets_m, units), Cell(rate_of_money_text(bill.per_meets_m), below=least)]
        rows.append(row)
    columns = [("design", LEFT), ("total", RIGHT), ("difference", RIGHT), ("meets", RIGHT), ("per m that meets", RIGHT)]
    return Table.of(columns, rows)


def _count(number: int, noun: str) -> str:
    return f"{number:,} {noun}{'' if number == 1 else 's'}"


def _differing(bills: Bills) -> list[Block]:
    """Quantities by design, of the lines in which designs differ."""
    shown: Sequence[Bill] = bills.bills if len(bills.bills) <= _MOST_COLUMNS else (bills.bills[0], bills.bills[-1])
    numbers: dict[tuple, dict[str, BillLine]] = {}
    for bill in shown:
        for line in bill.lines:
            numbers.setdefault((line.kind, line.name, line.each), {})[bill.name] = line
    rows = []
    for (kind, name, each), by_name in numbers.items():
        cells = [_quantity(by_name[bill.name]) if bill.name in by_name else "-" for bill in shown]
        if len(set(cells)) > 1:
            rows.append([kind, name, _price_cell(each, unit_price_text(each)), *cells])
    if not rows:
        return [Line("The designs ask for the same things at the same prices.")]
    kinds = {"parts": 0, "masts": 1, "work": 2}
    rows.sort(key=lambda row: kinds[str(row[0])])
    columns = [("kind", LEFT), ("item", LEFT), ("each", RIGHT), *((bill.name, RIGHT) for bill in shown)]
    left_out = "" if len(shown) == len(bills.bills) else ", of the first and the last design (all in --json and -o FILE.csv)"
    return [Heading(f"Quantities that differ{left_out}"), Table.of(columns, rows)]


def bill_object(bills: Bills, files: Sequence[str] = ()) -> dict:
    """The object of `fencecast bill --json`; null where there is no price or no simulation, never 0."""
    prices = bills.site.prices
    base = bills.bills[0]
    return {
        "title": bills.site.title,
        "site_sha256": bills.site.sha256,
        "currency": bills.currency or None,
        "price_date": prices.date.isoformat() if prices and prices.date else None,
        "price_source": prices.source if prices else None,
        "price_age_days": bills.age_days,
        "simulated_by": bills.simulated.by or None,
        "simulated_at": bills.simulated.created or None,
        "weather_classes": list(bills.simulated.classes),
        "options": [_bill_object(bill, base) for bill in bills.bills],
        "notes": [note.text for note in notes_of(bills)],
        "files": list(files),
        "caution": CAUTION,
    }


def _bill_object(bill: Bill, base: Bill) -> dict:
    return {
        "name": bill.name,
        "lines": [
            {
                "kind": line.kind,
                "item": line.name,
                "number": line.number,
                "unit": line.unit or None,
                "each": line.each,
                "total": line.total,
                "key": line.key,
            }
            for line in bill.lines
        ],
        "total": bill.total,
        "complete": bill.complete,
        "unpriced": [line.name for line in bill.unpriced],
        "difference": bill.less(base),
        "cameras": bill.cameras,
        "sensors": bill.sensors,
        "lenses": bill.lenses,
        "masts": bill.masts,
        "fence_m": bill.fence_m,
        "cost_per_metre_of_fence": bill.per_fence_m,
        "meets_m": bill.meets_m,
        "cost_per_metre_that_meets": bill.per_meets_m,
    }


def csv_rows(bills: Bills) -> list[tuple[str, ...]]:
    """The lines of all designs under `CSV_COLUMNS`, numbers plain, what has no price empty; no sums, so that columns add up."""
    prices = bills.site.prices
    date = prices.date.isoformat() if prices and prices.date else ""
    rows = []
    for bill in bills.bills:
        for line in bill.lines:
            numbers = ["" if value is None else f"{value:.15g}" for value in (line.number, line.each, line.total)]
            words = (bill.name, line.kind, line.name, line.unit, bills.currency, date, line.key)
            option, kind, item, unit, currency, day, key = (cell_of(word) for word in words)
            rows.append((option, kind, item, numbers[0], unit, numbers[1], numbers[2], currency, day, key))
    return rows
