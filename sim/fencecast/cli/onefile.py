"""One file that a command writes: its name checked before any work, the file there whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

from fencecast.errors import UsageError


def free_file(output: str | Path, suffix: str, force: bool) -> Path:
    """The path to write; UsageError when it is taken, cannot be one, or has another ending than `suffix` ('.html')."""
    target = Path(output)
    if target.suffix.lower() != suffix:
        raise UsageError(f"{target}: the file's name ends in {suffix}; type for instance -o {target.stem or 'yard'}{suffix}")
    if target.is_dir() or not target.parent.is_dir():
        what = "is a folder; name a file" if target.is_dir() else "cannot be written: its folder does not exist; make it first"
        raise UsageError(f"{target} {what}")
    if os.path.lexists(target) and not force:
        raise UsageError(f"{target} exists already; type --force to replace it, or choose another name with -o")
    return target


def write_file(target: Path, content: str | bytes) -> None:
    """Write text (UTF-8, line ends as they are) or bytes under a hidden name, then rename."""
    from fencecast.cli.folder import whole_file

    with whole_file(target) as part:
        part.write_bytes(content.encode() if isinstance(content, str) else content)


def results_stem(path: str | Path) -> str:
    """What files made from a results file are called: its folder's name without '-results', or its own when it was renamed."""
    file = Path(path)
    if file.stem == "results":
        return file.resolve().parent.name.removesuffix("-results") or "site"
    return file.stem
