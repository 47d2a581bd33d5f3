"""What must be known to read a bill: whose prices, how old, what it does not hold, and prices of what is not there."""

from __future__ import annotations

from dataclasses import dataclass

from fencecast.decide.bill.bill import Bills
from fencecast.decide.bill.options import COMPARE, PLACE
from fencecast.decide.place.bill import MASTS, WORK
from fencecast.errors import show_value
from fencecast.findings.words import listed


@dataclass(frozen=True)
class BillNote:
    """A sentence; `wrong`: about what is probably a mistake."""

    text: str
    wrong: bool = False


def notes_of(bills: Bills) -> list[BillNote]:
    """What is probably wrong first, then whose prices these are, what the bill leaves out, and how metres were counted."""
    notes = [BillNote(_stray(name, near), True) for name, near in bills.strays]
    notes += [BillNote(_age(bills), True)] if bills.old or (bills.age_days or 0) < 0 else []
    notes += [BillNote(f"Priced, and in none of these designs: {listed(bills.unused)}.")] if bills.unused else []
    missing = list(dict.fromkeys(line.key for bill in bills.bills for line in bill.unpriced))
    notes += [BillNote(f"What has no price gets one at: {listed(missing)}.")] if missing else []
    notes += [
        BillNote(_whose(bills)),
        BillNote(f"Not in the bill, because the file does not name it: {listed(_left_out(bills))}."),
    ]
    if any(line.kind == "masts" for bill in bills.bills for line in bill.lines):
        notes.append(
            BillNote(
                "Cameras within 2 m of each other share a mast; one within 0.3 m of a building is taken to be mounted on it."
            )
        )
    if bills.own_prices:
        notes.append(BillNote(f"At the prices of site files of their own: {listed(bills.own_prices)}."))
    if any(bill.less(bills.bills[0]) is None for bill in bills.bills[1:]):
        notes.append(BillNote("A difference is not known where designs differ in what has no price."))
    return notes + [BillNote(text) for text in _simulated(bills)]


def _stray(name: str, near: str | None) -> str:
    hint = f"; did you mean {show_value(near)}?" if near else ""
    return f"[prices] depends_on has a price for {show_value(name)}, and no camera depends on it{hint}"


def _age(bills: Bills) -> str:
    prices, days = bills.site.prices, bills.age_days or 0
    date = prices.date.isoformat() if prices and prices.date else ""
    if days < 0:
        return f"The prices are dated {date}, which is still to come."
    return f"The prices are of {date}, {days} days old: more than a year. Ask for new ones."


def _whose(bills: Bills) -> str:
    """Whose prices, in what, of when; what is not said of them is said to be missing."""
    prices = bills.site.prices
    known = [f"in {prices.currency}"] if prices and prices.currency else []
    known += [f"of {prices.date.isoformat()}"] if prices and prices.date else []
    known += [f"source: {prices.source}"] if prices and prices.source else []
    missing = [key for key in ("currency", "date", "source") if prices is None or getattr(prices, key) is None]
    gap = f" Not said in [prices]: {listed(missing)}." if missing else ""
    return f"Prices are those of the site file{''.join(f', {part}' for part in known)}; none is built in or converted.{gap}"


def _left_out(bills: Bills) -> list[str]:
    """Work and things that every yard asks for and that nobody can count from a plan."""
    site = bills.site
    left = [] if "camera_price" in site.kit.model_fields_set else ["fitting and aiming of cameras ([kit] camera_price)"]
    if not site.item:
        left.append("foundations, cable, commissioning and walk tests ([[item]])")
    elif not any(line.kind == WORK and line.key.startswith("item") for line in bills.bills[0].lines):
        left.append("work other than that ([[item]])")
    return [*left, "taxes", "whatever else has no line above"]


def _simulated(bills: Bills) -> list[str]:
    found, texts = bills.simulated, []
    if found.stress:
        texts.append(f"Simulated in the hours in which {found.stress} alone: metres that meet are those of these hours.")
    if found.other_prices:
        texts.append(
            "The site file has changed since it was simulated, in prices or in something else that no crossing depends on."
        )
    if found.by == PLACE:
        texts.append(
            "Metres are those of the front of `place`: the last row was run as its own site, the rows before it on fewer "
            "crossings. Cameras that are there count as if they were bought; the difference is what a row adds."
        )
        if any(line.kind == MASTS and line.each for bill in bills.bills for line in bill.lines):
            texts.append(
                "A mast is charged once here; `place` charges the price of a [[mounting]] for every new camera there, so that "
                "its costs may be higher."
            )
    if found.by == COMPARE:
        texts.append("All designs met the same crossings.")
    if found.by and found.by != COMPARE and any(bill.meets_m is None for bill in bills.bills):
        texts.append("Designs that are not simulated: fencecast compare simulates them beside the site.")
    return texts
