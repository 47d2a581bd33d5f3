"""Client edition, design and built: how many cameras were measured, and metres by weather class; no camera, no place, no pose."""

from __future__ import annotations

from dataclasses import dataclass

from fencecast.findings.provedbuilt import built_finding, metres_rows
from fencecast.report.sections.section import Body, Source


@dataclass(frozen=True)
class BuiltRow:
    """A weather class: metres that meet and metres weak, as designed and as built."""

    name: str
    meets_design: str
    meets_built: str
    weak_design: str
    weak_built: str


@dataclass(frozen=True)
class ClientAsBuilt:
    """rows: by weather class, none where it was not simulated; lines: how many walks were made, and where to read more."""

    rows: tuple[BuiltRow, ...]
    lines: tuple[str, ...]


def as_built_of(source: Source) -> Body | None:
    """The section; None where no file of `fencecast built` was given."""
    proof = source.proof
    if proof.built is None:
        return None
    rows = tuple(BuiltRow(*row) for row in metres_rows(proof, source.results.units))
    lines = ["What the poses do to the fence was not simulated."] if not rows else []
    if proof.score is not None:
        walks = proof.score.walks
        lines.append(
            f"Tested by {walks:,} walk{'' if walks == 1 else 's'}; where, and how cameras hang, is in the full edition only."
        )
    else:
        lines.append("How cameras hang is in the full edition only.")
    return Body("Design, built, tested", built_finding(proof.built), ClientAsBuilt(rows, tuple(lines)))
