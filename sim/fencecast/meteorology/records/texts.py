"""A weather file as text, and what is said when it cannot be read."""

from __future__ import annotations

from pathlib import Path
from shlex import quote

from fencecast.errors import InputError

NO_ROWS = "this file has no rows of weather"


def text_of(path: Path) -> str:
    """The text of a file: UTF-8, else Latin-1 (names of places). InputError when it cannot be read."""
    try:
        content = path.read_bytes()
    except FileNotFoundError:
        where = "path in [weather_file] starts at the folder of the site file"
        raise InputError([f"there is no such weather file{_beside(path)}; {where}"], str(path)) from None
    except IsADirectoryError:
        raise InputError(["this is a folder; name the weather file in it"], str(path)) from None
    except OSError as error:
        raise InputError([f"this weather file cannot be read: {error.strerror or error}"], str(path)) from None
    if _is_utf16(content):
        text = (
            'this is text in UTF-16, two bytes a character (a spreadsheet\'s "Unicode text"); save it as "CSV UTF-8", or type '
            f"iconv -f UTF-16 -t UTF-8 {quote(path.name)} > {quote('utf8-' + path.name)} and name that file in path"
        )
        raise InputError([text], str(path))
    if b"\0" in content[:1000]:
        raise InputError(["this is no text file; unpack it first, or save it as text"], str(path))
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("latin-1")


def _is_utf16(content: bytes) -> bool:
    """By its byte order mark, else by a zero in every second byte: letters and figures of Latin writing."""
    head = content[:1000]
    if head[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return True
    even, odd = head[::2].count(0), head[1::2].count(0)
    return len(head) > 20 and max(even, odd) > 0.45 * len(head) and min(even, odd) == 0


def not_this_kind(path: Path, what: str, error: Exception) -> InputError:
    """The report that a file is not what it was taken for."""
    # A library's KeyError is no more than the bare name.
    said = f"{error.args[0]} is missing" if isinstance(error, KeyError) and error.args else str(error)
    reason = " ".join(said.split())[:160] or type(error).__name__
    text = f'this cannot be read as {what}: {reason}; if it is another kind, say so with kind = "epw", "tmy3" or "csv"'
    return InputError([f"{text} in [weather_file]"], str(path))


def _beside(path: Path) -> str:
    try:
        names = sorted(p.name for p in path.parent.iterdir() if p.suffix.lower() in (".epw", ".csv"))[:5]
    except OSError:
        names = []
    return f" (there is: {', '.join(names)})" if names else ""
