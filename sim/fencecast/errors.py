"""The error policy: what a user reads when something that he typed is wrong.

Every error that the package raises on purpose is a `FencecastError`. `exit_code` is what the command line ends with: 2 when the
input is wrong, 1 for a failure of the program. A message names the file, the key, the value, what is allowed and what to type
instead; an `InputError` carries all problems of a file, because a user who mends one at a time gives up at the fourth.
"""

from __future__ import annotations

import difflib
import enum
import numbers
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

_LONGEST_VALUE = 72


class _Missing(enum.Enum):
    """Stands for a value that is not there; an enumeration, so that it is itself again after pickling."""

    MISSING = "missing"


class FencecastError(Exception):
    """Any error that fencecast raises on purpose."""

    exit_code = 1


def show_value(value: object) -> str:
    """The value as it would be typed in a TOML file, on one line, cut when it is long."""
    text = as_toml(value)
    return text if len(text) <= _LONGEST_VALUE else text[: _LONGEST_VALUE - 4].rstrip() + " ..."


def as_toml(value: object) -> str:
    """A number, text, list or dictionary as TOML, on one line (dictionaries as inline tables)."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        # Control characters would break the report's lines; TOML spells them as escapes.
        escaped = value.replace("\\", "\\\\").replace('"', '\\"')
        return '"' + "".join(c if c.isprintable() else _escape(ord(c)) for c in escaped) + '"'
    if isinstance(value, numbers.Integral):
        # Python refuses to write out integers of thousands of digits.
        number = int(value)
        return str(number) if abs(number) < 10**60 else f"{'-' if number < 0 else ''}an integer of more than 60 digits"
    if isinstance(value, numbers.Real):
        return repr(float(value))
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{toml_key(key)} = {as_toml(part)}" for key, part in value.items()) + " }" if value else "{}"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(as_toml(part) for part in value) + "]"
    return str(value)


def _escape(code: int) -> str:
    """A character of TOML by its number: four hexadecimal digits, or eight where four are too few."""
    return f"\\u{code:04x}" if code <= 0xFFFF else f"\\U{code:08x}"


def toml_key(name: object) -> str:
    """A key as TOML: bare when it may be, else in quotes."""
    return str(name) if re.fullmatch(r"[A-Za-z0-9_-]+", str(name)) else as_toml(str(name))


def close_match(name: object, known: Iterable[str]) -> str | None:
    """The known name that is nearest to what was typed, or None when nothing is near."""
    by_lower = {str(each).lower(): str(each) for each in known}
    near = difflib.get_close_matches(str(name).lower(), list(by_lower), n=1, cutoff=0.6)
    return by_lower[near[0]] if near else None


def did_you_mean(name: object, known: Iterable[str]) -> str:
    """`; did you mean "x"?` when some known name is near, else nothing."""
    near = close_match(name, known)
    return f'; did you mean "{near}"?' if near else ""


def name_list(names: Iterable[str]) -> str:
    """Names in quotes, separated by commas."""
    return ", ".join(show_value(str(name)) for name in names)


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong in a site file.

    `key`: where, as a user finds it (`camera "C2" height_m`). `value`: what stands there, or `Problem.MISSING`. `allowed`: what
    could stand there. `instead`: a line that would be accepted ("" when no single line can be proposed). `fault`: the verb.
    """

    key: str
    value: object
    allowed: str
    instead: str = ""
    fault: str = "is not allowed"

    MISSING = _Missing.MISSING

    def __str__(self) -> str:
        if self.value is Problem.MISSING:
            text = f"{self.key} is missing: {self.allowed}"
        else:
            text = f"{self.key} = {show_value(self.value)} {self.fault}: {self.allowed}"
        return f"{text}; type for instance {self.instead}" if self.instead else text


class InputError(FencecastError):
    """A site (file) that cannot be used, with all of its problems."""

    exit_code = 2

    def __init__(self, problems: Iterable[Problem | str], file: str):
        self.problems = tuple(problems)
        self.file = str(file)
        super().__init__(self.problems, self.file)

    def __str__(self) -> str:
        if len(self.problems) == 1:
            return f"{self.file}: {self.problems[0]}"
        lines = [f"{self.file}: {len(self.problems)} problems"]
        lines += [f"  {number}. {problem}" for number, problem in enumerate(self.problems, start=1)]
        return "\n".join(lines)


class UsageError(FencecastError):
    """A request that cannot be met: an option, a name or a folder, not the site file."""

    exit_code = 2


class UnknownNameError(UsageError):
    """A camera, weather class or other name that the site does not have.

    `kind`: "camera", "weather". `name`: what was typed. `known`: the names that exist. `file`: where they were looked for.
    """

    def __init__(self, kind: str, name: str, known: Iterable[str], file: str = "the site"):
        self.kind, self.name, self.known, self.file = kind, name, tuple(known), file
        super().__init__(kind, name, self.known, file)

    def __str__(self) -> str:
        near = close_match(self.name, self.known)
        hint = f"did you mean {show_value(near)}? " if near else ""
        there = f"{self.file} has: {name_list(self.known)}" if self.known else f"{self.file} has none"
        return f"{self.kind} {show_value(self.name)} is not known: {hint}{there}"
