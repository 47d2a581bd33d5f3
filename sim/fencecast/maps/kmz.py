"""KMZ: the one KML text in a ZIP archive, read in memory under limits. Nothing is extracted, no name in it becomes a path."""

from __future__ import annotations

import io
import zipfile
import zlib

from fencecast.maps import limits
from fencecast.maps.limits import Unreadable

_CHUNK = 1 << 16


def unpacked(content: bytes) -> bytes:
    """The bytes of `doc.kml`, or of the first `.kml` that lies in no folder; Unreadable when there is none or it is too large."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            entries = archive.infolist()
            if len(entries) > limits.ARCHIVE_ENTRIES:
                raise Unreadable(f"the archive has {len(entries):,} entries, more than {limits.ARCHIVE_ENTRIES}")
            roots = [each for each in entries if "/" not in each.filename and "\\" not in each.filename]
            texts = [each for each in roots if each.filename.lower().endswith(".kml")]
            chosen = next((each for each in texts if each.filename.lower() == "doc.kml"), next(iter(texts), None))
            if chosen is None:
                raise Unreadable("the archive has no .kml file outside of its folders")
            if chosen.flag_bits & 0x1:
                raise Unreadable("the archive is encrypted; save it without a password")
            return _limited(archive, chosen)
    except (zipfile.BadZipFile, NotImplementedError, EOFError, OSError, zlib.error, RuntimeError, ValueError) as error:
        if isinstance(error, Unreadable):
            raise
        raise Unreadable(f"this is no KMZ archive that can be read: {str(error)[:100]}") from None


def _limited(archive: zipfile.ZipFile, entry: zipfile.ZipInfo) -> bytes:
    """What is said about its size in the archive is not believed: bytes are counted as they come."""
    parts, size = [], 0
    with archive.open(entry) as file:
        while chunk := file.read(_CHUNK):
            size += len(chunk)
            if size > limits.ARCHIVE_BYTES:
                raise Unreadable(f"unpacked it has more than {limits.ARCHIVE_BYTES / 1e6:g} MB")
            parts.append(chunk)
    return b"".join(parts)
