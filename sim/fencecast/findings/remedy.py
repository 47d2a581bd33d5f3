"""What `run --remedy` says: the cheapest single change found, as a plain sentence with before and after."""

from __future__ import annotations

from dataclasses import asdict

from fencecast.decide.remedy import Remedy
from fencecast.findings.blocks import NOTE, Block, Heading, Line
from fencecast.findings.words import first_upper, interval_text, whole


def remedy_blocks(remedy: Remedy | None) -> list[Block]:
    """Heading and sentences; None when no change was found to help."""
    head = Heading("What to change: the cheapest single change found")
    if remedy is None:
        return [head, Line("No camera turned, no other lens and no added camera was found to help.")]
    cost = "" if remedy.cost is None else f", cost {whole(remedy.cost)}"
    start = (
        "This brings every watched metre to the requirement"
        if remedy.mends
        else "No single change that was tried brings every metre to the requirement; this one helped most"
    )
    weak, unsure = (f"from {whole(before)} to {whole(after)} m" for before, after in (remedy.weak_m, remedy.undecided_m))
    return [
        head,
        Line(f"{start}: {remedy.words}{cost}."),
        Line(
            f"{remedy.place} in {remedy.weather}, weakest before: Pd from {interval_text(*remedy.before)} to "
            f"{interval_text(*remedy.at_place)}. The weakest metre then has {interval_text(*remedy.after)}. Each segment in its "
            f"worst class: weak {weak}, undecided {unsure}."
        ),
        Line(
            f"{remedy.tried} changes tried (turned, other lens, added); before and after are from the same fresh crossings, "
            "which chose nothing. " + " ".join(f"{first_upper(text)}." for text in remedy.assumed),
            NOTE,
        ),
    ]


def remedy_object(remedy: Remedy | None) -> dict:
    """The object under "remedy" of `run --json`, null when no change was found to help."""
    return {"remedy": None if remedy is None else asdict(remedy)}
