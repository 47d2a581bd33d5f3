"""What `run --cure` adds: the cheapest single change found, as a plain sentence with before and after."""

from __future__ import annotations

from dataclasses import asdict

from fencecast.cli.layout import heading, paragraph
from fencecast.findings.words import interval_text, whole


def cure_report(cure) -> list:
    """Parts for `output.say`; cure: a `decide.cure.Cure`, or None when no change was found to help."""
    head = heading("What to change: the cheapest single change found")
    if cure is None:
        return [head, paragraph("No camera turned, no other lens and no added camera was found to help.")]
    cost = "" if cure.cost is None else f", cost {whole(cure.cost)}"
    start = (
        "This brings every watched metre to sound"
        if cure.mends
        else "No single change tried was found to make every metre sound; this one helped most"
    )
    weak = f"{whole(cure.weak_m[0])} to {whole(cure.weak_m[1])} m weak"
    unsure = f"{whole(cure.undecided_m[0])} to {whole(cure.undecided_m[1])} m undecided"
    return [
        head,
        paragraph(f"{start}: {cure.words}{cost}."),
        paragraph(
            f"{cure.place} in {cure.weather}, the weakest before, goes from {interval_text(*cure.before)} to "
            f"{interval_text(*cure.at_place)}; the weakest metre after it has {interval_text(*cure.after)}; from {weak}, from "
            f"{unsure}, by each segment's worst class."
        ),
        paragraph(
            f"{cure.tried} changes tried (turned, other lens, added); before and after are from the same fresh crossings, which "
            "chose nothing. " + " ".join(f"{text[0].upper()}{text[1:]}." for text in cure.assumed),
            "dim",
        ),
    ]


def cure_summary(cure) -> dict:
    """The object under "cure" of `run --json`, null when no change was found to help."""
    return {"cure": None if cure is None else asdict(cure)}
