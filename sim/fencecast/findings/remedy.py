"""What `run --remedy` says: the changes found, step by step, with what each adds in the headline's own metres."""

from __future__ import annotations

import json

from fencecast.decide.remedyfacts import RemedyFacts, RemedyStep, facts_object
from fencecast.estimate.places import worst_first
from fencecast.estimate.results import Results
from fencecast.findings.blocks import NOTE, Block, Heading, Line
from fencecast.findings.words import first_upper, in_class, interval_text, listed, plural, whole

_HARDLY_M = 2.0
WHAT_TO_CHANGE = "What to change: free changes first, then what costs least"


def remedy_blocks(remedy: RemedyFacts | None, name: str = "") -> list[Block]:
    """Heading and sentences; None when no change was found to help. name: of the site file with the changes."""
    head = Heading(WHAT_TO_CHANGE)
    if remedy is None:
        return [head, Line("No rule changed, no camera turned, no other lens or height and no added camera was found to help.")]
    before, after = remedy.weak_m
    number = len(remedy.steps)
    start = "This brings" if number == 1 else f"These {number} changes bring"
    if remedy.mends:
        verdict = f"{start} every watched metre to the requirement"
    elif before - after < _HARDLY_M and remedy.fence_m[0] - remedy.fence_m[1] < _HARDLY_M:
        elsewhere = any(step.most_m[0] - step.most_m[1] >= _HARDLY_M for step in remedy.steps)
        verdict = "Nothing that was tried helps more than a place or two"
        verdict = f"{start} other classes nearer to the requirement, not the worst one" if elsewhere else verdict
    else:
        verdict = f"{start} it nearer to the requirement, not every metre to it"
        verdict += "; the search ends after four changes or two small ones, so others may help more"
    cost = _cost_words(remedy.cost)
    lines = [
        Line(f"{verdict}: on fresh crossings {in_class(remedy.worst)} {whole(before)} m weak -> {whole(after)} m weak{cost}."),
        *(Line(step_text(k, step, remedy.worst)) for k, step in enumerate(remedy.steps, start=1)),
        Line(
            f"{remedy.place} {in_class(remedy.weather)}, weakest before: Pd from {interval_text(*remedy.before)} to "
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


def _cost_words(cost: float | None) -> str:
    """What all changes cost; a sum of nothing means that the file has no price for such work, not that it is free."""
    if cost is None:
        return ""
    return f", cost {whole(cost)} in all" if cost > 0.0 else ", without new parts (no price for this work in the file)"


def step_text(number: int, step: RemedyStep, worst: str) -> str:
    """`1. Turn C1 ...: in fog 142 m weak -> 118 m weak.`; a step that does nothing in that class says what it does elsewhere."""
    before, after = step.weak_m
    cost = "" if not step.cost else f", cost {whole(step.cost)}"
    benefit = f"{in_class(worst)} {whole(before)} m weak -> {whole(after)} m weak"
    if abs(before - after) < 0.5:
        before, after = step.most_m
        benefit = (
            f"{in_class(step.most_in)} {whole(before)} m weak -> {whole(after)} m weak; no metre more or less {in_class(worst)}"
        )
        if before - after < 0.5:
            benefit = "it lifts Pd without closing a metre"
    return f"{number}. {first_upper(step.words)}{cost}: {benefit}."


def kept_steps(results: Results) -> list[str]:
    """The steps that results keep in their attributes (`run --remedy`), a short sentence each; none without them."""
    results = Results.of(results)
    steps = json.loads(str(results.attrs.get("remedy_steps", "[]")))
    # The class that the steps' numbers are of: fresh crossings may put another one first than the results do.
    worst = next((c.name for c in worst_first(results) if c.hours > 0), results.classes[0])
    worst = str(results.attrs.get("remedy_worst", worst))
    return [_short_step(k, RemedyStep(**step), worst) for k, step in enumerate(steps, start=1)]


def _short_step(number: int, step: RemedyStep, worst: str) -> str:
    """`1. Turn C1 ...: 142 -> 118 m weak in fog.`, in the headline's class or else in the one that it helps most."""
    (before, after), name = step.weak_m, worst
    if abs(before - after) < 0.5:
        (before, after), name = step.most_m, step.most_in
    cost = "" if not step.cost else f", cost {whole(step.cost)}"
    benefit = (
        f"{whole(before)} -> {whole(after)} m weak {in_class(name)}"
        if before - after >= 0.5
        else "no metre less, Pd a little higher"
    )
    return f"{number}. {first_upper(step.words)}{cost}: {benefit}."


def remedy_sentence(remedy: RemedyFacts | None) -> str:
    """One sentence for the sheet; '' without a remedy."""
    if remedy is None:
        return ""
    words = listed([step.words for step in remedy.steps[:3]])
    left = len(remedy.steps) - 3
    more = f"; then {plural(left, 'more change')}" if left > 0 else ""
    before, after = remedy.weak_m
    return f"{first_upper(words)}{more}: {in_class(remedy.worst)} {whole(before)} m weak -> {whole(after)} m weak."


def remedy_object(remedy: RemedyFacts | None) -> dict:
    """The object under "remedy" of `run --json`, null when no change was found to help."""
    return {"remedy": facts_object(remedy)}
