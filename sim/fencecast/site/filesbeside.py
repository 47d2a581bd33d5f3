"""Site files that lie where one was looked for: half of an answer to a name that was mistyped."""

from __future__ import annotations

from pathlib import Path


def files_in(folder: Path) -> str:
    """` (there is: yard.toml)` with five names at most; nothing where there is none, or no such folder."""
    try:
        names = sorted(each.name for each in folder.glob("*.toml"))[:5]
    except OSError:
        names = []
    return f" (there is: {', '.join(names)})" if names else ""
