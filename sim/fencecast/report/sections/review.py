"""The design review as the results keep it: what geometry and the file show without simulation, and what was accepted."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from typing import Any

from fencecast.findings.words import first_upper, plural
from fencecast.report.sections.section import Body, Source

_WORDS = {"stop": "stop", "warn": "warning", "note": "note"}


@dataclass(frozen=True)
class Found:
    """One finding that is open: severity in words, check, object, what was measured, why it matters, what to do."""

    severity: str
    check: str
    name: str
    measured: str
    why: str
    fix: str
    again: bool


@dataclass(frozen=True)
class Accepted:
    """One finding that was accepted: by whom, when and why."""

    severity: str
    check: str
    name: str
    measured: str
    reason: str
    by: str
    on: str


@dataclass(frozen=True)
class ReviewFacts:
    """stops and warnings; notes; what was accepted."""

    open: tuple[Found, ...]
    notes: tuple[Found, ...]
    accepted: tuple[Accepted, ...]
    meaning: str


BY_GEOMETRY = (
    "These numbers are from geometry, for people who walk straight across at single points; simulated crossings slant and vary "
    "and may do a little better or worse: where both stand, the simulation counts."
)


def review_of(source: Source) -> Body | None:
    """The section; None when the results were made without a review (from Python, or by an older version)."""
    kept = source.results.attrs.get("findings")
    if kept is None:
        return None
    findings: list[dict[str, Any]] = json.loads(str(kept))
    undone = [f for f in findings if f["accepted"] is None or f["again"]]
    facts = ReviewFacts(
        open=tuple(_found(f) for f in undone if f["severity"] != "note"),
        notes=tuple(_found(f) for f in undone if f["severity"] == "note"),
        accepted=tuple(_accepted(f) for f in findings if f["accepted"] is not None and not f["again"]),
        meaning=BY_GEOMETRY,
    )
    return Body("Design review, without simulation", _finding(undone, len(facts.accepted)), facts)


def _finding(undone: list[dict[str, Any]], accepted: int) -> str:
    """`Two stops, three warnings and four notes are open; one was accepted.`"""
    count = {severity: sum(f["severity"] == severity for f in undone) for severity in _WORDS}
    parts = [plural(number, _WORDS[severity]) for severity, number in count.items() if number]
    total = sum(count.values())
    done = f"; {plural(accepted, 'finding')} {'was' if accepted == 1 else 'were'} accepted" if accepted else ""
    if not parts:
        return f"Nothing is open{done}."
    listed = parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"
    return first_upper(f"{listed} {'is' if total == 1 else 'are'} open{done}.")


def _found(f: dict[str, Any]) -> Found:
    return Found(
        _WORDS[f["severity"]],
        f["id"],
        f["object"],
        _measured(f["measured"]),
        f["why"],
        _fix(f["fix"]),
        bool(f["again"]),
    )


def _measured(text: str) -> str:
    """What was measured: the review's ceiling is a Pd by geometry, and thousands of square metres read as such."""
    text = re.sub(r"^ceiling (?=\d)", "Pd by geometry ", text)
    return _sentence(re.sub(r"(\d+) ?m2\b", lambda found: f"{int(found[1]):,} m²", text))


def _fix(text: str) -> str:
    """What to do; a command to type is for the designer."""
    return f"Designer: {text}." if "fencecast " in text else _sentence(text)


def _sentence(text: str) -> str:
    """A phrase as a sentence; the key of a site file at its beginning stays as it is typed."""
    key = "_" in text.split(" ", 1)[0]
    return f"{text if key else first_upper(text)}."


def _accepted(f: dict[str, Any]) -> Accepted:
    kept = f["accepted"]
    return Accepted(_WORDS[f["severity"]], f["id"], f["object"], _measured(f["measured"]), kept["reason"], kept["by"], kept["on"])
