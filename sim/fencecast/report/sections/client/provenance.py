"""Client edition, where the numbers come from: hashes and versions, no command, no file name, and no hash of a public file.

Weather files of stations are public: whoever hashes them all finds the one whose hash is printed, and so the place. The site file
and the results are nobody's but the owner's."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from fencecast import __version__
from fencecast.report.sections.section import Body, Source


@dataclass(frozen=True)
class ClientProvenance:
    """Rows of (what, value)."""

    rows: tuple[tuple[str, str], ...]


def provenance_of(source: Source) -> Body:
    """The table. Later attributes stand in it where the results have them."""
    attrs = source.results.attrs
    when = datetime.fromisoformat(str(attrs["created"]).replace("Z", "+00:00"))
    hashes = [
        ("Site file", str(attrs["site_sha256"])),
        ("Results file", source.results_sha256),
        ("Comparison file", source.comparison_sha256),
        *source.proof_sha256,
        ("Code of the model", str(attrs.get("code_sha256", ""))),
    ]
    rows = [(f"{what}, SHA-256", value) for what, value in hashes if value]
    rows += [
        ("Simulated", f"{when.day} {when:%B %Y}, by fencecast {attrs['version']}"),
        ("Seed, crossings", f"{attrs['seed']}; {int(attrs['crossings_total']):,} crossings"),
        ("This report", f"drawn by fencecast {__version__}; the same files and options give the same bytes. Its own SHA-256 was "
         "printed when it was written: ask the sender for it."),
    ]  # fmt: skip
    return Body("Where the numbers come from", "", ClientProvenance(tuple(rows)))
