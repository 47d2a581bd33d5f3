"""Files that appear whole or not at all, and a manifest of what fencecast wrote, so that it replaces nothing else.

A folder that is new is made beside its place under a hidden name and renamed at the end. In a folder that exists everything is
made in a hidden folder inside (the same file system for certain, also when the folder is a mount), and then moved file by file;
when one move fails, all are taken back. The hidden folder is made before the simulation starts: whoever may not write there
learns it at once. What killed processes left is removed then (`leftovers`).

A kill between two moves cannot be taken back. So the manifest comes first: before anything moves it knows the old files and the
new ones. Old ones go before new ones come, so that whatever is there belongs together, and the next `--force` knows all of it.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
from collections.abc import Iterable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path

from fencecast import __version__
from fencecast.cli.ending import signals_wait
from fencecast.cli.leftovers import clear_abandoned, locked_part
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
        self._staging: Path
        self._part: AbstractContextManager[Path]
        self._existed = False

    def __enter__(self) -> Path:
        try:
            self._existed = self._check()
            place = self.path.resolve()
            for home in (place.parent, *([place] if self._existed else [])):
                clear_abandoned(home)
            self._part = locked_part(place, home=self.path if self._existed else self.path.parent)
            self._staging = self._part.__enter__()
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
                self._part.__exit__(None, None, None)

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
        files = dict(sorted((kept | {name: _sha256(self._staging / name) for name in new}).items()))
        _write_manifest(self._staging / MANIFEST, files)
        if self._existed:
            before = {name: digest for name, digest in ours.items() if name not in kept and name != MANIFEST}
            self._move_in(new, files, before)
        else:
            self._staging.rename(self.path)
        self.files = [str(self.path / name) for name in self.names if name in (*new, MANIFEST)]

    def _move_in(self, new: list[str], files: dict[str, str], before: dict[str, str]) -> None:
        """A manifest of both, old files out, new ones in, the new manifest; everything back when one of the moves fails."""
        away = self._staging / ".replaced"
        away.mkdir()
        manifest, both = self.path / MANIFEST, away / "both"
        had = manifest.exists()
        if had:
            shutil.copy2(manifest, away / MANIFEST)
        _write_manifest(both, files, before)
        done: list[tuple[Path, Path]] = []
        moves = [(self.path / name, away / name) for name in before]
        moves += [(self._staging / name, self.path / name) for name in new]
        try:
            both.replace(manifest)
            for source, target in moves:
                source.rename(target)
                done.append((source, target))
            (self._staging / MANIFEST).replace(manifest)
        except Exception:
            for source, target in reversed(done):
                target.rename(source)
            if had:
                (away / MANIFEST).replace(manifest)
            else:
                manifest.unlink(missing_ok=True)
            raise


def _write_manifest(path: Path, files: dict[str, str], before: dict[str, str] | None = None) -> None:
    """before: files that are being replaced, by name, while that lasts; SHA-256 of each."""
    content: dict = {"written_by": f"fencecast {__version__}", "files": files}
    if before is not None:
        content["being_replaced"] = before
    path.write_text(json.dumps(content, indent=2) + "\n", encoding="utf-8")


def written_here(folder: Path) -> tuple[dict[str, str], list[str]]:
    """What fencecast wrote into a folder: files as they were written (with their SHA-256), and names of those changed since."""
    try:
        content = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
        files = dict(content["files"])
        before = dict(content.get("being_replaced", {}))  # there when a process was killed between two moves
        known = str(content["written_by"]).startswith("fencecast ")
    except (OSError, ValueError, TypeError, KeyError):
        return {}, []
    names = {**files, **before}
    if not known or not all(_is_plain_name(name) for name in names):
        return {}, []
    ours, changed = {MANIFEST: ""}, []
    for name in names:
        path = folder / name
        if not os.path.lexists(path):
            continue
        digest = _sha256(path) if path.is_file() and not path.is_symlink() else ""
        if digest and digest in (files.get(name), before.get(name)):
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


@contextmanager
def whole_file(path: Path) -> Iterator[Path]:
    """A path beside `path` with the same ending, which takes its place when the block ends well, and is removed otherwise."""
    place = Path(os.path.realpath(path))  # a link stays a link
    clear_abandoned(place.parent)
    try:
        with locked_part(place, suffix=path.suffix.lower()) as part:
            yield part
            with signals_wait():
                os.replace(part, place)
    except OSError as error:
        raise UsageError(f"{path} cannot be written: {error.strerror or error}") from None
