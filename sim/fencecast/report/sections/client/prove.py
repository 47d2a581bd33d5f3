"""Client edition, how to prove it: walks that show the requirement, and alarms from noise alone, without a camera's mark."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fencecast.estimate.results import Results
from fencecast.findings.nuisance import nuisance_asked
from fencecast.findings.nuisancewords import noise_note
from fencecast.findings.provedplan import client_claims, client_plan_finding, people_sentence
from fencecast.report.sections.section import Body, Source
from fencecast.report.shared import learnt, walks_finding, walks_lines

HEADING = "How to prove it on the finished site"
_LEAST_RATE = 0.001  # alarms a day, below which a rate is not told


@dataclass(frozen=True)
class PlannedClaim:
    """A claim as it was fixed: its number, whether it is of one place or of how many together, walks and misses allowed rung by
    rung, and the chance of passing as predicted."""

    number: str
    about: str
    walks: str
    misses: str
    chance: str


@dataclass(frozen=True)
class ClientProve:
    """Paragraphs; claims of the walk test where its plan was given; time: minutes and people ('' without a plan)."""

    lines: tuple[str, ...]
    claims: tuple[PlannedClaim, ...]
    time: str


def prove_of(source: Source) -> Body:
    """Exact numbers of walks for the requirement, how often a good fence fails such a test, and alarms from noise if known."""
    results = source.results
    noise = (noise_line(results),) if "noise_alarms_per_day" in results else ()
    lines = (*walks_lines(results.requirement, results.confidence), *noise)
    rule, test = walks_finding(results.requirement, results.confidence), source.proof.plan
    if test is None:
        return Body(HEADING, rule, ClientProve(lines, (), ""))
    claims = tuple(PlannedClaim(*row) for row in client_claims(test))
    return Body(HEADING, client_plan_finding(test), ClientProve((rule, *lines), claims, people_sentence(test)))


def noise_line(results: Results) -> str:
    """`Alarms from sensor noise alone, each camera and day: at most 0.02.`"""
    most = float(np.max(results["noise_alarms_per_day"].values))
    amount = f"below {_LEAST_RATE:g}" if most < _LEAST_RATE else f"at most {most:.3g}"
    said = f"{noise_note(results.attrs)} {learnt(nuisance_asked(results.attrs))}"
    return f"Alarms from sensor noise alone, each camera and day: {amount}. {said}"
