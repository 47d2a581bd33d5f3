"""What every section has: a key, a heading, a finding, and facts for its template. Numbers are counted over what is there."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from fencecast.estimate.results import Results
from fencecast.findings.calibration import rests_on_rehearsal
from fencecast.findings.rehearsal import BAR
from fencecast.prove.proof.proof import NOTHING, Proof
from fencecast.report.options import ReportOptions


@dataclass(frozen=True)
class Body:
    """What a builder returns: the heading, its finding ('' without one) and the facts that the template shows."""

    heading: str
    finding: str
    facts: Any


@dataclass(frozen=True)
class Section:
    """A section in its place: `number` as printed ('3', or a letter for an annex), `key` for links, `template` by name."""

    key: str
    number: str
    heading: str
    finding: str
    template: str
    facts: Any


@dataclass(frozen=True)
class Source:
    """All that a builder may read. `comparison`: results of `compare` of the same site, or None. `results_sha256`,
    `comparison_sha256`: of the files that they were read from, '' for objects. `proof`: what was proved on site; `proof_sha256`:
    of its files, with what they are."""

    results: Results
    options: ReportOptions
    comparison: Results | None = None
    results_sha256: str = ""
    comparison_sha256: str = ""
    proof: Proof = NOTHING
    proof_sha256: tuple[tuple[str, str], ...] = ()

    @property
    def rehearsal(self) -> bool:
        """Walks that the results, the score or the fit rest on are simulated, and nobody walked them."""
        return self.proof.rehearsal or rests_on_rehearsal(self.results.attrs)

    def marked(self, mark: str) -> str:
        """The line on top: the sender's or `mark`, behind what a rehearsal is."""
        line = self.options.mark or mark
        if not self.rehearsal:
            return line
        edition = f"{self.options.edition.upper()} EDITION · "
        return f"{edition}{BAR} {line.removeprefix(edition)}"


@dataclass(frozen=True)
class Entry:
    """One row of an edition's list: the key, the template and the builder, which returns None where there is nothing to say."""

    key: str
    template: str
    build: Callable[[Source], Body | None]
    annex: bool = False


def numbered(entries: Sequence[Entry], source: Source) -> tuple[Section, ...]:
    """The sections that have something to say, 1, 2, 3 and then annexes A, B."""
    sections: list[Section] = []
    counts = {False: 0, True: 0}
    for entry in entries:
        body = entry.build(source)
        if body is None:
            continue
        number = chr(ord("A") + counts[True]) if entry.annex else str(counts[False] + 1)
        counts[entry.annex] += 1
        sections.append(Section(entry.key, number, body.heading, body.finding, entry.template, body.facts))
    return tuple(sections)
