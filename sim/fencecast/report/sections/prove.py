"""How to prove it on the finished site: how many walks show the requirement, and what they do not show."""

from __future__ import annotations

from dataclasses import dataclass

from fencecast.findings.blocks import Block
from fencecast.findings.nuisance import nuisance_asked
from fencecast.findings.provedplan import plan_blocks, plan_finding, plan_limits
from fencecast.findings.run import noise_sentence
from fencecast.report.sections.section import Body, Source
from fencecast.report.shared import learnt, walks_finding, walks_lines

HEADING = "How to prove it on the finished site"


@dataclass(frozen=True)
class Prove:
    """Paragraphs; blocks: the walk test as it was fixed, where its plan was given; limits: what it shows and what it does not."""

    lines: tuple[str, ...]
    blocks: tuple[Block, ...]
    limits: tuple[str, ...]


def prove_of(source: Source) -> Body:
    """Exact numbers of walks for the requirement, and how often a good fence fails such a test; with a plan the test itself."""
    results, proof = source.results, source.proof
    lines = walks_lines(results.requirement, results.confidence)
    if "noise_alarms_per_day" in results:
        lines += (f"{noise_sentence(results)} {learnt(nuisance_asked(results.attrs))}",)
    rule = walks_finding(results.requirement, results.confidence)
    if proof.plan is None:
        return Body(HEADING, rule, Prove(lines, (), ()))
    blocks = tuple(plan_blocks(proof.plan, proof.plan_is_of))
    return Body(HEADING, plan_finding(proof.plan), Prove((rule, *lines), blocks, plan_limits(proof.plan)))
