"""What a drawing may at most be, in one table: refused before it is read, or while it is. Judgement: 100 times a large yard."""

from __future__ import annotations

import os
from pathlib import Path

FILE_BYTES = 50_000_000
DXF_BYTES = 10_000_000
POINTS = 200_000  # of all features of a drawing
FEATURE_POINTS = 20_000
FEATURES = 20_000
OF_A_KIND = 1_000  # fences, buildings, cameras ...: the checks of a site file ask each pair
DEPTH = 64  # of elements, folders and brackets within each other
ELEMENTS = 600_000
ARCHIVE_ENTRIES = 200
ARCHIVE_BYTES = 50_000_000  # unpacked
BLOCK_DEPTH = 8
ARRAY_COPIES = 1_000
TEXT_LENGTH = 10_000  # of one property


class Unreadable(ValueError):
    """A drawing that cannot be used at all, with the reason and what to do."""


def read_bytes(path: Path, most: int = FILE_BYTES) -> bytes:
    """The file's bytes; Unreadable when it is not there or larger than `most` (which is asked of the disk before reading)."""
    try:
        size = os.stat(path).st_size
        if path.is_dir():
            raise Unreadable("this is a folder; name the drawing in it")
        if size > most:
            raise Unreadable(
                f"{size / 1e6:,.0f} MB are more than the {most / 1e6:,.0f} MB that a drawing may have; "
                "save the fence, the buildings and the cameras alone"
            )
        return path.read_bytes()
    except FileNotFoundError:
        raise Unreadable("there is no such file") from None
    except (OSError, ValueError) as error:
        if isinstance(error, Unreadable):
            raise
        raise Unreadable(f"this file cannot be read: {getattr(error, 'strerror', None) or error}") from None


def too_many(what: str, most: int) -> Unreadable:
    """A count over its limit."""
    return Unreadable(f"it has more than {most:,} {what}; draw the fence, the buildings and the cameras alone")
