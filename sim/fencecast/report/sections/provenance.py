"""Where the numbers come from: what a reader needs to run the site again and to get the same."""

from __future__ import annotations

import json
import shlex
from dataclasses import dataclass
from pathlib import PurePosixPath, PureWindowsPath

from fencecast import __version__
from fencecast.report.sections.section import Body, Source

NOTES = (
    "The same site file, seed and version give the same numbers; the same files and options give this report to the last byte. "
    "Its own SHA-256 was printed when it was written: ask the sender for it.",
)


@dataclass(frozen=True)
class Provenance:
    """Rows of (what, value), and sentences under them."""

    rows: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]


def without_paths(command: str) -> str:
    """A command line with file names only: folders hold names of users and clients."""
    try:
        words = shlex.split(command)
    except ValueError:
        words = command.split()
    return " ".join(PureWindowsPath(PurePosixPath(word).name).name if "/" in word or "\\" in word else word for word in words)


def provenance_of(source: Source) -> Body:
    """The full edition's table, command without folders included."""
    return Body("Where the numbers come from", "", Provenance(_rows(source) + _command_row(source), NOTES))


def _rows(source: Source) -> tuple[tuple[str, str], ...]:
    attrs = source.results.attrs
    rows = [
        ("Site file, SHA-256", str(attrs["site_sha256"])),
        ("Weather file, SHA-256", str(attrs.get("weather_sha256", ""))),
        ("Results file, SHA-256", source.results_sha256),
        ("Comparison file, SHA-256", source.comparison_sha256),
        *((f"{what}, SHA-256", value) for what, value in source.proof_sha256),
        ("Simulated", str(attrs["created"])),
        ("By", f"fencecast {attrs['version']}"),
        ("Code of the model, SHA-256", str(attrs.get("code_sha256", ""))),
        ("Libraries", _libraries(attrs.get("libraries", ""))),
        ("Processor", str(attrs.get("processor", ""))),
        ("Seed", str(attrs["seed"])),
        ("Crossings", f"{int(attrs['crossings_total']):,}"),
        ("Drawn by", f"fencecast {__version__}"),
    ]
    return tuple((what, value) for what, value in rows if value)


def _libraries(kept: object) -> str:
    """`numpy 2.3.1, scipy 1.16`, from the JSON object that results keep; what is none is printed as it is."""
    try:
        found = json.loads(str(kept))
    except ValueError:
        return str(kept)
    return ", ".join(f"{name} {version}" for name, version in found.items()) if isinstance(found, dict) else str(kept)


def _command_row(source: Source) -> tuple[tuple[str, str], ...]:
    command = without_paths(str(source.results.attrs.get("command", "")))
    return (("Command, without folders", command),) if command else ()
