"""Client edition, under the verdict: in plain words, and the decisions that are asked, each with a link to its section."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from fencecast.estimate.results import Results
from fencecast.findings.words import plural
from fencecast.report.sections.client.change import summary
from fencecast.report.sections.client.words import condition_lines, plain_lines
from fencecast.report.sections.section import Source


@dataclass(frozen=True)
class Asked:
    """One decision: bold words, the rest, and the key of the section that says more ('' for none)."""

    ask: str
    text: str
    key: str


@dataclass(frozen=True)
class ClientPlain:
    """conditions: what the numbers are about when not the complete site and year; lines; decisions in order."""

    conditions: tuple[str, ...]
    lines: tuple[str, ...]
    decisions: tuple[Asked, ...]


def plain_of(source: Source, keys: Collection[str]) -> ClientPlain:
    """keys: of the sections that the report has; nothing points to one that it has not."""
    results = source.results
    found = [
        *_change(results),
        Asked("Confirm the assumptions.", "", "register"),
        Asked("Agree the walk test before anything is built.", "", "prove"),
    ]
    decisions = tuple(Asked(d.ask, d.text, d.key if d.key in keys else "") for d in found)
    return ClientPlain(tuple(condition_lines(results)), tuple(plain_lines(results)), decisions)


def _change(results: Results) -> list[Asked]:
    text = summary(results)
    if text:
        return [Asked("Decide on the change found, or on another.", text, "change")]
    places = len(results.weak_places)
    if places:
        return [Asked(f"Say what is to change at {plural(places, 'weak place')}.", "", "why")]
    return []
