"""Client edition, design and built: metres by weather class; no camera, no place, no pose."""

from __future__ import annotations

from dataclasses import dataclass

from fencecast.findings.provedbuilt import client_built_finding
from fencecast.findings.provedstretch import aim_columns, aim_note, loss_sentence, metres_rows
from fencecast.report.sections.section import Body, Source


@dataclass(frozen=True)
class ClientAsBuilt:
    """heads: of the columns behind the class; rows: class and metres, none where it was not simulated; lines: what the numbers
    are, how many walks were made, and where to read more."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    lines: tuple[str, ...]


def as_built_of(source: Source) -> Body | None:
    """The section; None where no file of `fencecast built` was given."""
    proof = source.proof
    if proof.built is None:
        return None
    need = source.results.requirement
    rows = tuple(metres_rows(proof, source.results.units, need))
    lines = [aim_note(plain=True)] if rows else ["What the poses do to the fence was not simulated."]
    if proof.score is not None:
        walks = proof.score.walks
        lines.append(
            f"Tested by {walks:,} walk{'' if walks == 1 else 's'}; where, and how cameras hang, is in the full edition only."
        )
    else:
        lines.append("How cameras hang is in the full edition only.")
    finding = " ".join(filter(None, (client_built_finding(proof.built), loss_sentence(proof, places=False))))
    return Body("Design, built, tested", finding, ClientAsBuilt(aim_columns(need), rows, tuple(lines)))
