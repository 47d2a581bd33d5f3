"""Files that appear whole or not at all, and a manifest of what fencecast wrote, so that it replaces nothing else.

A folder that is new is made beside its place under a hidden name and renamed at the end. In a folder that exists everything is
made in a hidden folder inside (the same file system for certain, also when the folder is a mount), and then moved file by file;
when one move fails, all are taken back. The hidden folder is made before the simulation starts: whoever may not write there
learns it at once.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from fencecast import __version__
from fencecast.cli.ending import signals_wait
from fencecast.cli.output import warn
from fencecast.errors import UsageError

MANIFEST = "manifest.json"
_OTHER = "choose another folder with -o"


class OutputFolder:
    """`with OutputFolder(path, names) as staging:` and write the files into `staging`; they appear in `path` at the end.

    names: every file name that may be written. replace: an existing folder is accepted, and files that fencecast wrote there,
    unchanged since, are replaced. keep_others: those of its files that are not written this time stay (as `plot` wants; `run`
    takes old pictures away, because they would not fit the new numbers).
    Afterwards `files` are the paths written, `left` the names of files that fencecast wrote once, that the user changed, and
    that therefore stayed.
    """

    def __init__(self, path: str | os.PathLike, names: Iterable[str], replace: bool, keep_others: bool = False):
        self.path = Path(path)
        self.names = (*names, MANIFEST)
        self.replace = replace
        self.keep_others = keep_others
        self.files: list[str] = []
        self.left: list[str] = []
        self._staging: Path | None = None
        self._existed = False

    def __enter__(self) -> Path:
        try:
            self._existed = self._check()
            home = self.path if self._existed else self.path.parent
            self._staging = home / f".{self.path.resolve().name}.{os.getpid()}-{os.urandom(4).hex()}.part"
            self._staging.mkdir()
        except (OSError, ValueError) as error:  # ValueError: a name with a zero byte in it
            reason = getattr(error, "strerror", None) or str(error)
            raise UsageError(f"{self.path} cannot be written: {reason}; {_OTHER}") from None
        return self._staging

    def __exit__(self, kind, error, trace) -> None:
        with signals_wait():
            try:
                if kind is None:
                    self._publish()
            finally:
                shutil.rmtree(self._staging, ignore_errors=True)

    def warn_left(self) -> None:
        """Warn of files that stayed because the user changed them, where no report does."""
        for name in self.left:
            warn(f"{self.path / name} changed since fencecast wrote it: left as it is")

    def _check(self) -> bool:
        """Whether the folder exists already; UsageError when nothing may be written there."""
        if not os.path.lexists(self.path):
            parent = self.path.parent
            if not parent.is_dir():
                what = f"is not a folder; {_OTHER}" if parent.exists() else f"does not exist; make it first, or {_OTHER}"
                raise UsageError(f"{self.path} cannot be made: {parent} {what}")
            return False
        if not self.path.is_dir():
            raise UsageError(f"{self.path} exists and is not a folder; {_OTHER}")
        if not self.replace:
            raise UsageError(
                f"{self.path} exists already; add --force to replace the files that fencecast wrote there, or {_OTHER}"
            )
        self._refuse_foreign()
        return True

    def _refuse_foreign(self) -> None:
        ours, _ = written_here(self.path)
        foreign = [name for name in self.names if os.path.lexists(self.path / name) and name not in ours]
        if foreign:
            raise UsageError(
                f"{self.path} holds {', '.join(foreign)}, which fencecast did not write or which changed since; "
                f"move or rename {'it' if len(foreign) == 1 else 'them'}, or {_OTHER}"
            )

    def _publish(self) -> None:
        new = sorted(each.name for each in self._staging.iterdir())
        strangers = set(new) - set(self.names)
        if strangers:
            raise AssertionError(f"files that were not announced: {sorted(strangers)}")
        ours: dict[str, str] = {}
        if self._existed:
            self._refuse_foreign()  # again: simulations take long, and the folder is the user's
            ours, self.left = written_here(self.path)
        elif os.path.lexists(self.path):
            raise UsageError(f"{self.path} was made by someone else meanwhile; nothing was written there; {_OTHER}")
        kept = {name: digest for name, digest in ours.items() if self.keep_others and name not in new and name != MANIFEST}
        content = {"written_by": f"fencecast {__version__}", "files": {}}
        content["files"] = dict(sorted((kept | {name: _sha256(self._staging / name) for name in new}).items()))
        (self._staging / MANIFEST).write_text(json.dumps(content, indent=2) + "\n", encoding="utf-8")
        if self._existed:
            self._move_in([*new, MANIFEST], [name for name in ours if name not in kept])
        else:
            self._staging.rename(self.path)
        self.files = [str(self.path / name) for name in self.names if name in (*new, MANIFEST)]

    def _move_in(self, new: list[str], old: list[str]) -> None:
        """Old files out, new ones in; everything back when one of the moves fails."""
        away = self._staging / ".replaced"
        away.mkdir()
        done: list[tuple[Path, Path]] = []
        moves = [(self.path / name, away / name) for name in old] + [(self._staging / name, self.path / name) for name in new]
        try:
            for source, target in moves:
                source.rename(target)
                done.append((source, target))
        except Exception:
            for source, target in reversed(done):
                target.rename(source)
            raise


def written_here(folder: Path) -> tuple[dict[str, str], list[str]]:
    """What fencecast wrote into a folder: files as they were written (with their SHA-256), and names of those changed since."""
    try:
        content = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
        listed = dict(content["files"])
        known = str(content["written_by"]).startswith("fencecast ")
    except (OSError, ValueError, TypeError, KeyError):
        return {}, []
    if not known or not all(_is_plain_name(name) for name in listed):
        return {}, []
    ours, changed = {MANIFEST: ""}, []
    for name, digest in listed.items():
        path = folder / name
        if not os.path.lexists(path):
            continue
        if path.is_file() and not path.is_symlink() and _sha256(path) == digest:
            ours[name] = digest
        else:
            changed.append(name)
    return ours, changed


def _is_plain_name(name: object) -> bool:
    """A file name without a path in it: a manifest must not point out of its folder."""
    return isinstance(name, str) and name not in ("", ".", "..", MANIFEST) and not any(c in name for c in "/\\\0:")


def _sha256(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def check_png(path: str | os.PathLike) -> Path:
    """The path of a picture to write; UsageError when it does not end in .png or nothing can be written there.

    An existing picture is replaced: the name was typed for this command alone.
    """
    path = Path(path)
    if path.suffix.lower() != ".png":
        raise UsageError(f"{path}: a picture's name ends in .png; type for instance -o {path.stem or 'look'}.png")
    if path.is_dir():
        raise UsageError(f"{path} is a folder; name a file that ends in .png")
    if not path.parent.is_dir():
        what = "is not a folder" if path.parent.exists() else "does not exist; make it first"
        raise UsageError(f"{path} cannot be written: {path.parent} {what}")
    return path


@contextmanager
def whole_file(path: Path) -> Iterator[Path]:
    """A path beside `path` with the same ending, which takes its place when the block ends well, and is removed otherwise."""
    place = Path(os.path.realpath(path))  # a link stays a link
    part = place.with_name(f".{os.getpid()}-{os.urandom(4).hex()}{path.suffix}")
    try:
        yield part
        with signals_wait():
            os.replace(part, place)
    except OSError as error:
        raise UsageError(f"{path} cannot be written: {error.strerror or error}") from None
    finally:
        part.unlink(missing_ok=True)
