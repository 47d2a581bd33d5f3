"""One file that a command writes, or two that belong together: names checked before any work, there whole or not at all."""

from __future__ import annotations

import os
import shutil
from collections.abc import Mapping
from contextlib import ExitStack
from pathlib import Path

from fencecast.errors import UsageError

TAKEN = "type --force to replace it, or choose another name with -o"


def named_file(output: str | Path, suffix: str, whose: str = "the file's name", stem: str = "yard") -> Path:
    """The path to write; UsageError when it cannot be one, or has another ending than `suffix` (".html").

    whose: what a name without that ending should have been; stem: of a name to type, where nothing is left of the given one.
    """
    target = Path(output)
    if target.suffix.lower() != suffix:
        raise UsageError(f"{target}: {whose} ends in {suffix}; type for instance -o {target.stem or stem}{suffix}")
    if target.is_dir():
        raise UsageError(f"{target} is a folder; name a file that ends in {suffix}")
    if not target.parent.is_dir():
        what = "is not a folder" if target.parent.exists() else "does not exist; make it first"
        raise UsageError(f"{target} cannot be written: {target.parent} {what}")
    return target


def free_file(
    output: str | Path, suffix: str, force: bool, whose: str = "the file's name", stem: str = "yard", how: str = TAKEN
) -> Path:
    """The same for a file that must not be there without `force`; how: what to type instead."""
    target = named_file(output, suffix, whose, stem)
    if os.path.lexists(target) and not force:
        raise UsageError(f"{target} exists already; {how}")
    return target


def picture_file(output: str | Path) -> Path:
    """The path of a picture to write; one that exists is replaced: the name was typed for this command alone."""
    return named_file(output, ".png", "a picture's name", "look")


def write_file(target: Path, content: str | bytes) -> None:
    """Write text (UTF-8, line ends as they are) or bytes under a hidden name, then rename."""
    from fencecast.cli.folder import whole_file

    with whole_file(target) as part:
        part.write_bytes(content.encode() if isinstance(content, str) else content)


def write_files(contents: Mapping[Path, bytes]) -> None:
    """Write files that belong together under hidden names, then rename them; when one fails, all are as they were before."""
    from fencecast.cli.ending import signals_wait
    from fencecast.cli.leftovers import clear_abandoned, locked_part

    places = {Path(os.path.realpath(target)): target for target in contents}  # a link stays a link
    now = next(iter(contents))
    try:
        with ExitStack() as stack:
            moves = []
            for place, now in places.items():
                clear_abandoned(place.parent)
                part = stack.enter_context(locked_part(place, suffix=place.suffix.lower()))
                part.write_bytes(contents[now])
                before = stack.enter_context(locked_part(place, suffix=".old")) if place.exists() else None
                if before is not None and len(places) > 1:
                    shutil.copy2(place, before)
                moves.append((part, place, before))
            with signals_wait():
                _move_all(moves)
    except OSError as error:
        raise UsageError(f"{now} cannot be written: {error.strerror or error}") from None


def _move_all(moves: list[tuple[Path, Path, Path | None]]) -> None:
    """Each part to its place; what was there before comes back when a later one fails."""
    done: list[tuple[Path, Path | None]] = []
    try:
        for part, place, before in moves:
            os.replace(part, place)
            done.append((place, before))
    except OSError:
        for place, before in done:
            if before is None:
                place.unlink(missing_ok=True)
            else:
                os.replace(before, place)
        raise


def results_stem(path: str | Path) -> str:
    """What files made from a results file are called: its folder's name without '-results', or its own when it was renamed."""
    file = Path(path)
    if file.stem == "results":
        return file.resolve().parent.name.removesuffix("-results") or "site"
    return file.stem
