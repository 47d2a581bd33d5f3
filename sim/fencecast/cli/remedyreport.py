"""What `run --remedy` adds: the cheapest single change found, as a plain sentence with before and after."""

from __future__ import annotations

from dataclasses import asdict

from fencecast.cli.layout import heading, paragraph
from fencecast.findings.words import interval_text, whole


def remedy_report(remedy) -> list:
    """Parts for `output.say`; remedy: a `decide.remedy.Remedy`, or None when no change was found to help."""
    head = heading("What to change: the cheapest single change found")
    if remedy is None:
        return [head, paragraph("No camera turned, no other lens and no added camera was found to help.")]
    cost = "" if remedy.cost is None else f", cost {whole(remedy.cost)}"
    start = (
        "This brings every watched metre to the requirement"
        if remedy.mends
        else "No single change tried was found to make every metre meet the requirement; this one helped most"
    )
    weak = f"{whole(remedy.weak_m[0])} to {whole(remedy.weak_m[1])} m weak"
    unsure = f"{whole(remedy.undecided_m[0])} to {whole(remedy.undecided_m[1])} m undecided"
    return [
        head,
        paragraph(f"{start}: {remedy.words}{cost}."),
        paragraph(
            f"{remedy.place} in {remedy.weather}, weakest before, goes from {interval_text(*remedy.before)} to "
            f"{interval_text(*remedy.at_place)}; the weakest metre then has {interval_text(*remedy.after)}; from {weak}, from "
            f"{unsure}, by each segment's worst class."
        ),
        paragraph(
            f"{remedy.tried} changes tried (turned, other lens, added); before and after are from the same fresh crossings, "
            "which chose nothing. " + " ".join(f"{text[0].upper()}{text[1:]}." for text in remedy.assumed),
            "dim",
        ),
    ]


def remedy_summary(remedy) -> dict:
    """The object under "remedy" of `run --json`, null when no change was found to help."""
    return {"remedy": None if remedy is None else asdict(remedy)}
