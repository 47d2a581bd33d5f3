"""Client edition, under the verdict: in plain words, and the decisions that are asked, each with a link to its section."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from fencecast.estimate.results import Results
from fencecast.findings.nuisance import nuisance_asked, nuisance_of
from fencecast.findings.nuisancewords import ceilings_words
from fencecast.findings.titles import undecided_metres
from fencecast.findings.words import metres_text, plural
from fencecast.report.sections.client.change import summary
from fencecast.report.sections.client.nuisance import client_headline
from fencecast.report.sections.client.words import condition_lines, plain_lines
from fencecast.report.sections.section import Source
from fencecast.report.words import pd_and_verdicts


@dataclass(frozen=True)
class Asked:
    """One decision: bold words, the rest, and the key of the section that says more ('' for none)."""

    ask: str
    text: str
    key: str


@dataclass(frozen=True)
class ClientPlain:
    """meaning: of Pd and the verdicts, at their first use; conditions: what the numbers are about when not the complete site and
    year; lines; decisions in order."""

    meaning: str
    conditions: tuple[str, ...]
    lines: tuple[str, ...]
    decisions: tuple[Asked, ...]


def plain_of(source: Source, keys: Collection[str]) -> ClientPlain:
    """keys: of the sections that the report has; nothing points to one that it has not."""
    results = source.results
    found = [
        *_change(results),
        *_undecided(results),
        Asked("Whether the assumptions hold.", "", "register"),
        _test(source),
    ]
    if nuisance_asked(results.attrs):
        found.append(Asked("Who logs alarms on the finished site, and on which nights.", "", "nuisance"))
    decisions = tuple(Asked(d.ask, d.text, d.key if d.key in keys else "") for d in found)
    lines = [*plain_lines(results), *_nuisance(results)]
    return ClientPlain(
        pd_and_verdicts(nuisance_asked(results.attrs), "calibration" in results.attrs),
        tuple(condition_lines(results)),
        tuple(lines),
        decisions,
    )


def _undecided(results: Results) -> list[Asked]:
    """What becomes of metres that are weak in no class and undecided in some."""
    undecided = undecided_metres(results)
    if undecided < 0.5:
        return []
    to_do = "walked more" if "calibration" in results.attrs else "run again with more crossings"
    return [
        Asked(
            f"Whether the {metres_text(undecided, results.units)} that are undecided are {to_do}, or treated as weak.",
            "",
            "weather",
        )
    ]


def _test(source: Source) -> Asked:
    """Which walk test is agreed, or what follows from the one that was walked."""
    if source.proof.score is not None:
        return Asked("What follows from the walk test.", "", "proved")
    if source.proof.plan is not None:
        return Asked("Whether the walk test stands as it is fixed, before anyone walks.", "", "prove")
    return Asked("Which walk test is agreed, before anything is built.", "", "prove")


def _nuisance(results: Results) -> list[str]:
    """How many nuisance alarms, and whether their ceilings are met; none when they were not asked for."""
    found = nuisance_of(results)
    return [] if found is None else [" ".join([client_headline(found), *ceilings_words(found)])]


def _change(results: Results) -> list[Asked]:
    text = summary(results)
    if text:
        return [Asked("Whether to make the change found, or another.", text, "change")]
    places = len(results.weak_places)
    if places:
        return [Asked(f"What is to change at {plural(places, 'weak place')}.", "", "why")]
    return []
