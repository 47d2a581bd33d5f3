"""What goes to standard output and to standard error: text, tables, one JSON object; quiet when nobody reads any more."""

from __future__ import annotations

import json
import math
import os
import sys
from collections.abc import Sequence

PLAIN_WIDTH = 100  # of tables that do not go to a terminal
_NARROWEST, _WIDEST = 60, 120


def tell(text: str) -> None:
    """A line to standard error."""
    _write(sys.stderr, text + "\n")


def warn(text: str) -> None:
    """A warning to standard error."""
    tell(f"Warning: {text}")


def say(*parts) -> None:
    """Text and rich tables to standard output, one below the other: plain and 100 wide when it is not a terminal."""
    if sys.stdout is None:  # closed from the start
        return
    console = console_for(sys.stdout)
    with console.capture() as capture:
        for part in parts:
            console.print(part)
    # Trailing blanks pad table cells: they say nothing, and make lines wrap in mails.
    _write(sys.stdout, "".join(line.rstrip(" ") + "\n" for line in capture.get().splitlines()))


def say_blocks(blocks: Sequence) -> None:
    """Blocks of findings (`findings.blocks`) to standard output."""
    from fencecast.cli.layout import rendered

    say(*rendered(blocks))


def say_text(text: str) -> None:
    """Text as it is to standard output, its lines not wrapped: to be pasted or piped."""
    _write(sys.stdout, text + "\n")


def say_json(value: dict) -> None:
    """One JSON object to standard output; what is not a finite number becomes null."""
    utf8 = (getattr(sys.stdout, "encoding", None) or "").lower().replace("-", "") == "utf8"
    _write(sys.stdout, json.dumps(plain(value), indent=2, ensure_ascii=not utf8, allow_nan=False) + "\n")


def plain(value):
    """The value with numpy numbers as Python's own, and NaN and infinities as None."""
    if isinstance(value, dict):
        return {str(key): plain(part) for key, part in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(part) for part in value]
    if value is None or isinstance(value, (bool, int, str)):
        return value
    if hasattr(value, "tolist"):  # numpy scalars and arrays
        return plain(value.tolist())
    number = float(value)
    return number if math.isfinite(number) else None


def console_for(stream):
    """A rich console on a stream: no markup in users' texts; on a terminal as wide as that, within reason."""
    from rich.console import Console

    options = {"file": stream, "markup": False, "emoji": False, "highlight": False}
    console = Console(**options)
    width = min(max(console.width, _NARROWEST), _WIDEST) if console.is_terminal else PLAIN_WIDTH
    return Console(**options, width=width)


def is_terminal(stream) -> bool:
    """Whether a person watches this stream."""
    try:
        return bool(stream.isatty()) and os.environ.get("TERM", "") != "dumb"
    except (AttributeError, ValueError):
        return False


def _write(stream, text: str) -> None:
    if stream is None:
        return
    try:
        try:
            stream.write(text)
        except UnicodeEncodeError:
            stream.write(text.encode(stream.encoding, "replace").decode(stream.encoding))
        stream.flush()
    except BrokenPipeError:
        _silence(stream)


def _silence(stream) -> None:
    """The reader has gone (`| head`): what is still to come, also at the interpreter's end, goes nowhere."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, stream.fileno())
    os.close(nowhere)
