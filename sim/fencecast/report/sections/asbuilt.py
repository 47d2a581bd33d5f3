"""Design, built, tested: how cameras hang, and what each stretch of fence was designed for, has, and showed to walkers."""

from __future__ import annotations

from dataclasses import dataclass

from fencecast.findings.blocks import NOTE, Block, Heading, Line, Table
from fencecast.findings.provedbuilt import built_finding, camera_blocks, metres_rows, shown_class, stretch_blocks
from fencecast.report.sections.section import Body, Source

HEADING = "Design, built, tested"
METRES = "Metres of fence by weather class"
NOT_RUN = (
    "What the poses do to Pd was not simulated: type fencecast built --run --json, and give its output to --built of the report."
)
COLUMNS = (
    ("class", "left"),
    ("meets, design", "right"),
    ("meets, built", "right"),
    ("weak, design", "right"),
    ("weak, built", "right"),
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
    rows = metres_rows(proof, results.units)
    if not rows:
        return Body(HEADING, built_finding(proof.built), AsBuilt((*blocks, Line(NOT_RUN, NOTE))))
    blocks += [Heading(METRES), Table.of(COLUMNS, rows)]
    blocks += stretch_blocks(proof, shown_class(proof, results), results.requirement)
    return Body(HEADING, built_finding(proof.built), AsBuilt(tuple(blocks)))
