"""Under the verdict: what it means in plain words, and what is asked of the reader, each with a link to its section."""

from __future__ import annotations

import json
from collections.abc import Collection
from dataclasses import dataclass

from fencecast.decide.remedyfacts import kept_remedy
from fencecast.estimate.diagnosis import counted_classes
from fencecast.estimate.results import Results
from fencecast.findings.calibration import calibration_of
from fencecast.findings.nuisance import nuisance_asked, nuisance_of
from fencecast.findings.nuisancewords import cause_name
from fencecast.findings.remedy import kept_steps
from fencecast.findings.titles import undecided_metres
from fencecast.findings.words import first_upper, in_class, metres_text, number_word, plural
from fencecast.report.sections.change import from_to
from fencecast.report.sections.section import Source
from fencecast.report.words import condition_lines, pd_and_verdicts, plain_lines


@dataclass(frozen=True)
class Decision:
    """One thing that is asked: bold words, the key of the section that they name ('' for none), words behind it, and the rest."""

    ask: str
    key: str
    behind: str
    text: str


@dataclass(frozen=True)
class Plain:
    """meaning: of the words of the figures above; conditions: what numbers are about, when not the complete site and year;
    lines: in plain words; decisions in order."""

    meaning: str
    conditions: tuple[str, ...]
    lines: tuple[str, ...]
    decisions: tuple[Decision, ...]


def plain_of(source: Source, keys: Collection[str]) -> Plain:
    """Plain words and decisions; keys: of the sections that the report has, because nothing may point to one that it has not."""
    results = source.results
    found = [
        *_change(results),
        *_undecided(results),
        *_review(results),
        *_assumptions(),
        *_test(source),
        *_log(results),
        *_readers(),
    ]
    decisions = tuple(d if not d.key or d.key in keys else Decision(f"{d.ask.rstrip(':')}.", "", "", d.text) for d in found)
    meaning = pd_and_verdicts(nuisance_asked(results.attrs), "calibration" in results.attrs)
    return Plain(meaning, tuple(condition_lines(results)), tuple(plain_lines(results)), decisions)


def _change(results: Results) -> list[Decision]:
    remedy, steps, units = kept_remedy(results.attrs), kept_steps(results), results.units
    if remedy is not None or steps:
        number = len(remedy.steps) if remedy else len(steps)
        changes = "the change" if number == 1 else f"the {number_word(number)} changes"
        ask, behind = f"Decide on {changes} of", ", or on another." if number == 1 else ", or on others."
        if remedy is None:
            short = from_to(results.site, str(results.attrs.get("remedy", "")).rpartition(": ")[2])
            return [Decision(ask, "change", behind, first_upper(short))]
        them = "it" if number == 1 else "them"
        before, after = (metres_text(each, units) for each in remedy.weak_m)
        whole = [metres_text(each, units) for each in remedy.fence_m]
        text = f"With {them} {_become(before, after, in_class(remedy.worst))}; each metre in its worst class, {_become(*whole)}."
        if remedy.mends:
            text = f"With {them} every watched metre meets the requirement in this model. {text}"
        return [Decision(ask, "change", behind, text)]
    none_found = " No change that was tried helps." if "remedy_found" in results.attrs else ""
    places = results.weak_places
    verdicts = results.array("verdict", "weather", "segment")[counted_classes(results)]
    if places:
        return [Decision(f"Say what is to change at {plural(len(places), 'weak place')}:", "why", ".", none_found.strip())]
    if (verdicts == "weak").any():
        return [Decision("Say what is to change along most of the fence:", "why", ".", none_found.strip())]
    return []


def _undecided(results: Results) -> list[Decision]:
    """What becomes of metres that are weak in no class and undecided in some."""
    undecided = undecided_metres(results)
    if undecided < 0.5:
        return []
    metres = metres_text(undecided, results.units)
    to_do = "walk more" if calibration_of(results.attrs) is not None else "have them run again with more crossings"
    ask = f"{metres} {'is' if metres == '1 m' else 'are'} undecided: {to_do}, or treat them as weak."
    return [Decision(ask, "", "", "")]


def _become(before: str, after: str, where: str = "") -> str:
    """`38 m weak become 9 m`; `54 m stay weak` where nothing is gained."""
    where = f" {where}" if where else ""
    if before == after:
        return f"{before} {'stays' if before == '1 m' else 'stay'} weak{where}"
    return f"{before} weak{where} become {after}"


def _review(results: Results) -> list[Decision]:
    findings = json.loads(str(results.attrs.get("findings", "[]")))
    stops = sum(f["severity"] == "stop" and (f["accepted"] is None or f["again"]) for f in findings)
    if not stops:
        return []
    ask = f"Answer the {plural(stops, 'stop')} of the design review:" if stops > 1 else "Answer the stop of the design review:"
    return [Decision(ask, "review", ".", "Each is to be mended, or accepted with a reason and a name.")]


def _assumptions() -> list[Decision]:
    return [Decision("Confirm the assumptions that carry your name:", "register", ".", "")]


def _test(source: Source) -> list[Decision]:
    """What is asked of a walk test: that it is agreed, that it is walked as it was fixed, or what follows from it."""
    proof = source.proof
    if proof.score is not None:
        verdicts = [claim.judged.verdict for claim in proof.score.score.claims]
        if "walk on" in verdicts:
            return [Decision("Have the walk test walked on, as its ladder says:", "proved", ".", "")]
        if all(verdict == "shown" for verdict in verdicts):
            return [Decision("Say when walks are repeated, at the latest after a year or a change:", "proved", ".", "")]
        return [
            Decision("Decide what follows from the walk test:", "proved", ".", "What is not shown is not shown by more walks.")
        ]
    if proof.plan is not None:
        return [Decision("Agree the walk test as it is fixed, before anyone walks:", "prove", ".", "")]
    if proof.fit is not None:
        return [Decision("Say when walks are repeated, at the latest after a year or a change:", "proved", ".", "")]
    return [Decision("Agree the walk test before anything is built:", "prove", ".", "")]


def _log(results: Results) -> list[Decision]:
    """That alarms are logged, first of what raises most and has no log yet; none where nuisance alarms were not asked for."""
    found = nuisance_of(results)
    if found is None:
        return []
    text = "Night, camera and cause, quiet nights too, in more than one season"
    first = next((cause for cause in found.unlogged if cause.per_night > 0.0), None)
    text += f"; {cause_name(first)} first: most alarms without a log." if first else "."
    return [Decision("Have alarms logged on the finished site:", "nuisance", ".", text)]


def _readers() -> list[Decision]:
    text = "It shows where, when and why the fence is weak; for everyone else there is the client edition."
    return [Decision("Name who may read this.", "", "", text)]
