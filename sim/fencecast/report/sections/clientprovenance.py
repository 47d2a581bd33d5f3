"""Client edition, where the numbers come from: hashes and versions, no command and no file name."""

from __future__ import annotations

from datetime import datetime

from fencecast import __version__
from fencecast.report.sections.provenance import Provenance
from fencecast.report.sections.section import Body, Source


def provenance_of(source: Source) -> Body:
    """The table. Later attributes stand in it where the results have them."""
    attrs = source.results.attrs
    when = datetime.fromisoformat(str(attrs["created"]).replace("Z", "+00:00"))
    rows = [("Site file, SHA-256", str(attrs["site_sha256"]))]
    rows += [("Hourly record, SHA-256", str(attrs["weather_sha256"]))] if attrs.get("weather_sha256") else []
    rows += [("Code, SHA-256", str(attrs["code_sha256"]))] if attrs.get("code_sha256") else []
    rows += [
        ("Simulated", f"{when.day} {when:%B %Y}, by fencecast {attrs['version']}"),
        ("Seed, crossings", f"{attrs['seed']}; {int(attrs['crossings_total']):,} crossings"),
        ("This report", f"drawn by fencecast {__version__}; the same files and options give the same bytes. Its own SHA-256 was "
         "printed when it was written: ask the sender for it."),
    ]  # fmt: skip
    return Body("Where the numbers come from", "", Provenance(tuple(rows)))
