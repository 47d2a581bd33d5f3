"""Where the numbers come from: what a reader needs to run the site again and to get the same."""

from __future__ import annotations

import shlex
from dataclasses import dataclass
from pathlib import PurePosixPath, PureWindowsPath

from fencecast import __version__
from fencecast.report.sections.section import Body, Source


@dataclass(frozen=True)
class Provenance:
    """Rows of (what, value)."""

    rows: tuple[tuple[str, str], ...]


def without_paths(command: str) -> str:
    """A command line with file names only: folders hold names of users and clients."""
    try:
        words = shlex.split(command)
    except ValueError:
        words = command.split()
    return " ".join(PureWindowsPath(PurePosixPath(word).name).name if "/" in word or "\\" in word else word for word in words)


def provenance_of(source: Source) -> Body:
    """The full edition's table, command without folders included."""
    return Body("Where the numbers come from", "", Provenance(_rows(source) + _command_row(source)))


def _rows(source: Source) -> tuple[tuple[str, str], ...]:
    attrs = source.results.attrs
    return (
        ("Site file, SHA-256", str(attrs["site_sha256"])),
        ("Simulated", str(attrs["created"])),
        ("By", f"fencecast {attrs['version']}"),
        ("Seed", str(attrs["seed"])),
        ("Crossings", f"{int(attrs['crossings_total']):,}"),
        ("Drawn by", f"fencecast {__version__}"),
    )


def _command_row(source: Source) -> tuple[tuple[str, str], ...]:
    command = without_paths(str(source.results.attrs.get("command", "")))
    return (("Command, without folders", command),) if command else ()
