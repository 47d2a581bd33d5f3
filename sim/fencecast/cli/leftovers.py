"""Hidden parts of files and folders in the making, each with a lock, so that those of killed processes can be known and removed.

The system lets go of a lock when its process ends, however it ends; a number of a process may belong to another one by then, and
says nothing on a disk that several computers share. A part that lives has its lock from before it exists until after it is gone.
On a disk without locks nothing is removed.
"""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

try:
    import fcntl
except ImportError:  # no such call on this system; an open file cannot be removed there, which serves as well
    fcntl = None  # type: ignore[assignment]

_OURS = re.compile(r"(\..+\.\d+-[0-9a-f]{8}\.part(\.[a-z0-9]+)?)")
LOCK = ".lock"


@contextmanager
def locked_part(place: Path, home: Path | None = None, suffix: str = "") -> Iterator[Path]:
    """A hidden path for a part of `place`, beside it or in the folder `home`, that no other process takes for abandoned.

    The caller makes the file or folder there. What is left of it at the end is removed, then the lock. OSError when nothing may
    be written there.
    """
    home = place.parent if home is None else home
    part = home / f".{place.name}.{os.getpid()}-{os.urandom(4).hex()}.part{suffix}"
    lock = part.with_name(part.name + LOCK)
    number = _held(lock, needed=False)
    try:
        yield part
    finally:
        _remove(part)
        with suppress(OSError):
            lock.unlink()
        if number is not None:
            os.close(number)


def clear_abandoned(folder: Path) -> list[str]:
    """Remove from a folder the parts whose process is gone; returns their names. Those of living processes stay."""
    try:
        names = sorted(each.name for each in folder.iterdir())
    except OSError:
        return []
    parts = {found[1] for name in names if (found := _OURS.fullmatch(name.removesuffix(LOCK)))}
    removed = []
    for name in sorted(parts):
        lock = folder / (name + LOCK)
        try:
            number = _held(lock)
        except OSError:
            continue
        if number is None:
            continue
        _remove(folder / name)
        with suppress(OSError):
            lock.unlink()
        os.close(number)
        removed.append(name)
    return removed


def _held(lock: Path, needed: bool = True) -> int | None:
    """The open lock file, held by this process alone; None when another one holds it. OSError when it cannot be made or, when it
    is needed, where the disk knows no locks."""
    while True:
        if fcntl is None and lock.exists():
            try:
                lock.unlink()
            except PermissionError:
                return None
        number = os.open(lock, os.O_RDWR | os.O_CREAT, 0o600)
        try:
            if fcntl is not None:
                fcntl.flock(number, fcntl.LOCK_EX | fcntl.LOCK_NB)
            if os.fstat(number).st_ino == lock.stat().st_ino:
                return number
        except BlockingIOError:
            os.close(number)
            return None
        except FileNotFoundError:
            pass
        except OSError:
            if not needed:
                return number
            os.close(number)
            raise
        os.close(number)  # another process removed it between the two calls: once more


def _remove(part: Path) -> None:
    if part.is_dir() and not part.is_symlink():
        shutil.rmtree(part, ignore_errors=True)
    else:
        with suppress(OSError):
            part.unlink()
