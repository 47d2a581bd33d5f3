"""Design, built, tested: how cameras hang, and what each stretch of fence was designed for, has, and showed to walkers."""

from __future__ import annotations

from dataclasses import dataclass

from fencecast.findings.blocks import LEFT, NOTE, RIGHT, Block, Heading, Line, Table
from fencecast.findings.provedbuilt import built_finding, camera_blocks
from fencecast.findings.provedstretch import (
    aim_columns,
    aim_heading,
    aim_note,
    loss_sentence,
    metres_rows,
    shown_class,
    stretch_blocks,
)
from fencecast.report.sections.section import Body, Source

HEADING = "Design, built, tested"
NOT_RUN = (
    "What the poses do to Pd was not simulated: type fencecast built --run --json, and give its output to --built of the report."
)


@dataclass(frozen=True)
class AsBuilt:
    """Tables and sentences."""

    blocks: tuple[Block, ...]


def as_built_of(source: Source) -> Body | None:
    """The section; None where no file of `fencecast built` was given."""
    proof, results = source.proof, source.results
    if proof.built is None:
        return None
    blocks = camera_blocks(proof.built)
    need = results.requirement
    rows = metres_rows(proof, results.units, need)
    if not rows:
        return Body(HEADING, built_finding(proof.built), AsBuilt((*blocks, Line(NOT_RUN, NOTE))))
    columns = [("metres of fence by weather class", LEFT), *((name, RIGHT) for name in aim_columns(need))]
    blocks += [Heading(aim_heading(results.site)), Table.of(columns, rows), Line(aim_note(), NOTE)]
    blocks += stretch_blocks(proof, shown_class(proof, results), need)
    return Body(HEADING, f"{built_finding(proof.built)} {loss_sentence(proof)}", AsBuilt(tuple(blocks)))
