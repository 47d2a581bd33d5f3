"""What `run --remedy` says: the changes found, step by step, with what each adds in the headline's own metres."""

from __future__ import annotations

from dataclasses import asdict, fields

from fencecast.decide.remedy import Remedy, RemedyStep
from fencecast.findings.blocks import NOTE, Block, Heading, Line
from fencecast.findings.words import first_upper, interval_text, listed, whole

_HARDLY_M = 2.0


def remedy_blocks(remedy: Remedy | None, name: str = "") -> list[Block]:
    """Heading and sentences; None when no change was found to help. name: of the site file with the changes."""
    head = Heading("What to change: free changes first, then what costs least")
    if remedy is None:
        return [head, Line("No rule changed, no camera turned, no other lens or height and no added camera was found to help.")]
    before, after = remedy.weak_m
    number = len(remedy.steps)
    start = "This brings" if number == 1 else f"These {number} changes bring"
    if remedy.mends:
        verdict = f"{start} every watched metre to the requirement"
    elif before - after < _HARDLY_M and remedy.fence_m[0] - remedy.fence_m[1] < _HARDLY_M:
        verdict = "Nothing that was tried helps more than a place or two"
    else:
        verdict = f"{start} it nearer to the requirement; nothing tried brings every metre to it"
    cost = "" if remedy.cost is None else f", cost {whole(remedy.cost)} in all"
    lines = [
        Line(f"{verdict}: in {remedy.worst} {whole(before)} m weak -> {whole(after)} m weak{cost}."),
        *(Line(step_text(k, step, remedy.worst)) for k, step in enumerate(remedy.steps, start=1)),
        Line(
            f"{remedy.place} in {remedy.weather}, weakest before: Pd from {interval_text(*remedy.before)} to "
            f"{interval_text(*remedy.at_place)}. The weakest metre then has {interval_text(*remedy.after)}. Over the fence, each "
            f"segment in its worst class: {whole(remedy.fence_m[0])} m weak -> {whole(remedy.fence_m[1])} m weak."
        ),
    ]
    if name:
        lines.append(Line(f"The site file with {'the change' if number == 1 else 'all of them'}: {name}."))
    note = (
        f"{remedy.tried} changes tried (rules, turned, other lens or height, added); before and after are from the same fresh "
        "crossings, which chose nothing; a run may differ within its interval. "
    )
    return [head, *lines, Line(note + " ".join(f"{first_upper(text)}." for text in remedy.assumed), NOTE)]


def step_text(number: int, step: RemedyStep, worst: str) -> str:
    """`1. Turn C1 ...: in fog 142 m weak -> 118 m weak.`; a step that does nothing in that class says what it does elsewhere."""
    before, after = step.weak_m
    cost = "" if not step.cost else f", cost {whole(step.cost)}"
    benefit = f"in {worst} {whole(before)} m weak -> {whole(after)} m weak"
    if abs(before - after) < 0.5:
        before, after = step.most_m
        benefit = f"in {step.most_in} {whole(before)} m weak -> {whole(after)} m weak; no metre more or less in {worst}"
        if before - after < 0.5:
            benefit = "it lifts Pd without closing a metre"
    return f"{number}. {first_upper(step.words)}{cost}: {benefit}."


def remedy_sentence(remedy: Remedy | None) -> str:
    """One sentence for the sheet; '' without a remedy."""
    if remedy is None:
        return ""
    words = listed([step.words for step in remedy.steps[:3]])
    more = f" and {len(remedy.steps) - 3} more changes" if len(remedy.steps) > 3 else ""
    before, after = remedy.weak_m
    return f"{first_upper(words)}{more}: in {remedy.worst} {whole(before)} m weak -> {whole(after)} m weak."


def remedy_object(remedy: Remedy | None) -> dict:
    """The object under "remedy" of `run --json`, null when no change was found to help."""
    if remedy is None:
        return {"remedy": None}
    kept = {each.name: getattr(remedy, each.name) for each in fields(remedy) if each.name != "site"}
    return {"remedy": {**kept, "steps": [asdict(step) for step in remedy.steps]}}
