"""Every way to end: one place for exit codes, for errors of one line, and for signals."""

from __future__ import annotations

import os
import signal
import sys
import threading
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import click

from fencecast.cli.output import tell, warn
from fencecast.errors import FencecastError

FAILED = 1
NOT_MET = 3
INTERRUPTED = 130
_STOP_SIGNALS = tuple(getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name))


class Stopped(KeyboardInterrupt):
    """The process was asked to end (SIGTERM, SIGHUP): unwinds like an interrupt from the keyboard."""

    def __init__(self, number: int):
        super().__init__(number)
        self.number = number


def end_well(work: Callable):
    """Do the work of a command; turn whatever ends it early into a message of one line and an exit code."""
    try:
        with _stop_signals_raise():
            return work()
    except (click.exceptions.Exit, click.ClickException):
        raise
    except FencecastError as error:
        tell(f"Error: {error}")
        code = error.exit_code
    except Stopped as stopped:
        tell("Stopped: nothing was left half-written.")
        code = 128 + stopped.number  # what a shell reports for a process that a signal ended
    except (KeyboardInterrupt, click.Abort):
        tell("Interrupted: nothing was left half-written.")
        code = INTERRUPTED
    except Exception as error:
        if os.environ.get("FENCECAST_DEBUG", "") not in ("", "0"):
            tell(traceback.format_exc().rstrip())
        tell(f"Error: {failure_text(error)}")
        code = FAILED
    raise click.exceptions.Exit(code)


def tell_signs_without_font() -> None:
    """One line when pictures hold signs that no installed font has; nothing is imported when none was drawn."""
    fonts = sys.modules.get("fencecast.show.paper.fonts")
    if fonts is not None and fonts.without_font:
        warn(fonts.without_font_words())
        fonts.without_font.clear()


def failure_text(error: Exception) -> str:
    """A failure of the program on one line: what the system said, or the kind of error and its words."""
    if isinstance(error, OSError) and error.strerror:
        where = f"{error.filename}: " if error.filename else ""
        return f"{where}{error.strerror}"
    if isinstance(error, MemoryError):
        return "out of memory"
    words = " ".join(str(error).split())
    if len(words) > 200:
        words = words[:196].rstrip() + " ..."
    kind = type(error).__name__
    return f"fencecast failed: {kind}{': ' if words else ''}{words} (FENCECAST_DEBUG=1 shows where)"


def _in_main_thread() -> bool:
    return threading.current_thread() is threading.main_thread()


@contextmanager
def _stop_signals_raise() -> Iterator[None]:
    """SIGTERM and SIGHUP unwind the program, so that temporary folders go; those that are ignored stay ignored."""
    if not _in_main_thread():
        yield
        return

    def stop(number, frame):
        raise Stopped(number)

    before = {}
    for number in _STOP_SIGNALS:
        if signal.getsignal(number) == signal.SIG_DFL:
            before[number] = signal.signal(number, stop)
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


@contextmanager
def signals_wait() -> Iterator[None]:
    """Holds interrupts back for the few milliseconds in which files are moved or tidied up; they act afterwards."""
    if not _in_main_thread():
        yield
        return
    came: list[int] = []
    before = {}
    for number in (signal.SIGINT, *_STOP_SIGNALS):
        if callable(signal.getsignal(number)):
            before[number] = signal.signal(number, lambda number, frame: came.append(number))
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
        if came:
            signal.raise_signal(came[0])
