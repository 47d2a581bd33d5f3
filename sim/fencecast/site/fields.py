"""What one key of a site file may hold, and the words that say so when it holds something else.

A check turns what was typed into what is stored (`parse`) or raises `Refused`. The reader adds the key's place; so a check
knows its noun, its limits and an example, and never where it stands.
"""

from __future__ import annotations

import math
import numbers
from collections.abc import Mapping
from dataclasses import dataclass, field

from pydantic_core import core_schema

from fencecast.errors import Problem, close_match, name_list, show_value
from fencecast.units import (
    LENGTH_UNITS,
    TEMPERATURE_UNITS,
    parse_length,
    parse_temperature,
    parse_temperature_difference,
)

LARGEST_COORDINATE_M = 100_000.0


@dataclass
class Refusal:
    """One reason why a value is refused. `path` leads from the key to the part; `instead` is what to write after `KEY = `."""

    value: object
    allowed: str
    instead: str = ""
    path: tuple[str, ...] = ()
    fault: str = "is not allowed"


class Refused(ValueError):
    """A value that a check does not take, with every reason."""

    def __init__(self, *refusals: Refusal):
        self.refusals = list(refusals)
        super().__init__("; ".join(str(Problem("value", r.value, r.allowed, r.instead, r.fault)) for r in refusals))


@dataclass(frozen=True)
class Check:
    """A base for checks: pydantic, too, asks `parse` when a table is built directly."""

    def parse(self, value: object) -> object:
        raise NotImplementedError

    def __get_pydantic_core_schema__(self, source, handler):
        return core_schema.no_info_plain_validator_function(self.parse)


# What a number is in: how it is shown behind a limit, how text with a unit is read, and what units may stand there.
_LENGTHS = {"m": "metres", "mm": "millimetres", "um": "micrometres"}
_SHOWN = {"c": " C", "k_difference": " K", "m": " m", "mm": " mm", "um": " um"}


@dataclass(frozen=True)
class Number(Check):
    """One finite number within limits.

    `unit`: "m", "mm", "um" (lengths may be text with a unit), "c" (temperature), "k_difference" (difference of temperatures),
    or None for plain numbers; `shown` is written behind limits ("m/s"). `example` and `example_high` are what to type.
    """

    noun: str
    example: float
    example_high: float | None = None
    above: float | None = None
    at_least: float | None = None
    below: float | None = None
    at_most: float | None = None
    unit: str | None = None
    shown: str = ""
    whole: bool = False

    @property
    def allowed(self) -> str:
        unit = self.shown or _SHOWN.get(self.unit, "")
        if self.at_least is not None and self.at_most is not None:
            return f"{self.noun} from {self.at_least:.15g} to {self.at_most:.15g}{unit}"
        parts = [
            f"{word} {limit:.15g}{unit}"
            for word, limit in (
                ("above", self.above),
                ("of at least", self.at_least),
                ("below", self.below),
                ("at most", self.at_most),
            )
            if limit is not None
        ]
        return " ".join([self.noun, " and ".join(parts)]).rstrip()

    @property
    def limits(self) -> tuple[float, float]:
        low = self.above if self.above is not None else self.at_least
        high = self.below if self.below is not None else self.at_most
        return (-math.inf if low is None else low), (math.inf if high is None else high)

    def show(self, number: float) -> str:
        return str(int(number)) if self.whole else repr(float(number))

    def number(self, value: object) -> float | int:
        """The finite number that was typed, in the key's unit, whatever its size."""
        if isinstance(value, str):
            return self._from_text(value)
        kind = numbers.Integral if self.whole else numbers.Real
        if self.whole and isinstance(value, numbers.Real) and not isinstance(value, numbers.Integral):
            if math.isfinite(value) and value == int(value):
                return int(value)
            raise Refused(Refusal(value, self.allowed, self.show(self.example)))
        if isinstance(value, bool) or not isinstance(value, kind):
            raise Refused(Refusal(value, self.allowed, self.show(self.example)))
        try:
            number = int(value) if self.whole else float(value)
        except OverflowError:
            number = math.inf
        if not math.isfinite(number):
            raise Refused(Refusal(value, self.allowed, self.show(self.example)))
        return number

    def _from_text(self, text: str) -> float:
        try:
            if self.unit in _LENGTHS:
                return parse_length(text, self.unit)
            if self.unit == "c":
                return parse_temperature(text)
            if self.unit == "k_difference":
                return parse_temperature_difference(text)
        except (ValueError, OverflowError):
            pass
        if self.unit in _LENGTHS:
            hint = f"as a number of {_LENGTHS[self.unit]} without quotes, or in quotes with a unit ({LENGTH_UNITS})"
        elif self.unit in ("c", "k_difference"):
            hint = f"as a number without quotes, or in quotes with a unit ({TEMPERATURE_UNITS})"
        else:
            hint = "as a number without quotes"
        raise Refused(Refusal(text, f"{self.allowed}, {hint}", self.show(self.example)))

    def fits(self, number: float) -> bool:
        low, high = self.limits
        return low <= number <= high and number != self.above and number != self.below

    def parse(self, value: object) -> float | int:
        number = self.number(value)
        if not self.fits(number):
            raise Refused(Refusal(value, self.allowed, self.show(self.example)))
        return number


@dataclass(frozen=True)
class Text(Check):
    """A name or a title: one printable line without blanks at its ends."""

    noun: str
    example: str
    longest: int = 60

    @property
    def allowed(self) -> str:
        return f"{self.noun}: text in quotes, 1 to {self.longest} characters, no blank at either end"

    def parse(self, value: object) -> str:
        good = isinstance(value, str) and 0 < len(value) <= self.longest and value == value.strip() and value.isprintable()
        if not good:
            raise Refused(Refusal(value, self.allowed, show_value(self.example)))
        return str(value)


@dataclass(frozen=True)
class OneOf(Check):
    """One of a few words."""

    options: tuple[str, ...]

    @property
    def allowed(self) -> str:
        return f"one of {name_list(self.options)}"

    def parse(self, value: object) -> str:
        if not isinstance(value, str) or value not in self.options:
            near = (close_match(value, self.options) if isinstance(value, str) else None) or self.options[0]
            raise Refused(Refusal(value, self.allowed, show_value(near)))
        return str(value)


@dataclass(frozen=True)
class YesNo(Check):
    """true or false."""

    def parse(self, value: object) -> bool:
        if not isinstance(value, bool):
            raise Refused(Refusal(value, "true or false, without quotes", "true"))
        return value


_COORDINATE = Number("a coordinate", 12.5, at_least=-LARGEST_COORDINATE_M, at_most=LARGEST_COORDINATE_M, unit="m")


def as_sequence(value: object) -> list | None:
    """A list for a list, a tuple or an array; None for anything else."""
    if hasattr(value, "tolist") and not isinstance(value, (str, bytes)):
        value = value.tolist()
    return list(value) if isinstance(value, (list, tuple)) else None


@dataclass(frozen=True)
class Point(Check):
    """Two coordinates in metres, x to the east and y to the north."""

    def parse(self, value: object) -> tuple[float, float]:
        pair = as_sequence(value)
        allowed = f"a point [x, y], each within {LARGEST_COORDINATE_M:,.0f} m of the origin (x east, y north, in metres)"
        try:
            if pair is None or len(pair) != 2:
                raise Refused
            return _COORDINATE.parse(pair[0]), _COORDINATE.parse(pair[1])
        except Refused:
            raise Refused(Refusal(value, allowed, "[12.5, 40.0]")) from None


@dataclass(frozen=True)
class Points(Check):
    """A list of points."""

    fewest: int
    example: str

    def parse(self, value: object) -> tuple[tuple[float, float], ...]:
        rows = as_sequence(value)
        if rows is None or len(rows) < self.fewest:
            raise Refused(Refusal(value, f"a list of at least {self.fewest} points [x, y] in metres", self.example))
        points, refusals = [], []
        for number, row in enumerate(rows, start=1):
            try:
                points.append(Point().parse(row))
            except Refused as refused:
                refusals += [Refusal(row, r.allowed, "", (f"point {number}",)) for r in refused.refusals]
        if refusals:
            raise Refused(*refusals)
        return tuple(points)


@dataclass(frozen=True)
class Pair(Check):
    """Two numbers of which the first is not above the second (`strict`: below it)."""

    item: Number
    example: str
    words: str
    strict: bool = False

    def parse(self, value: object) -> tuple:
        pair = as_sequence(value)
        try:
            if pair is None or len(pair) != 2:
                raise Refused
            low, high = self.item.parse(pair[0]), self.item.parse(pair[1])
        except Refused:
            raise Refused(Refusal(value, self.words, self.example)) from None
        if low > high or (self.strict and low == high):
            raise Refused(Refusal(value, self.words, self.example))
        return low, high


@dataclass(frozen=True)
class Names(Check):
    """A list of names, none twice."""

    noun: str
    example: str

    def parse(self, value: object) -> tuple[str, ...]:
        names = as_sequence(value)
        good = names and all(isinstance(name, str) for name in names) and len(set(names)) == len(names)
        if not good:
            raise Refused(Refusal(value, f"a list of one or more {self.noun}, none twice", self.example))
        return tuple(str(name) for name in names)


@dataclass(frozen=True)
class ByName(Check):
    """A small table with known keys, each with its own check; `fill` stands where a key is left out."""

    names: tuple[str, ...]
    item: Check
    fill: Mapping = field(hash=False, default_factory=dict)
    example: str = ""

    def parse(self, value: object) -> dict:
        if not isinstance(value, Mapping):
            raise Refused(Refusal(value, f"a table with the keys {', '.join(self.names)}", self.example))
        parsed, refusals = {}, []
        for key, part in value.items():
            if key not in self.names:
                near = close_match(key, self.names)
                hint = f"did you mean {near}? " if near else ""
                known = f"{hint}known here: {', '.join(self.names)}"
                refusals.append(Refusal(part, known, "", (str(key),), "is not a known key"))
                continue
            try:
                parsed[key] = self.item.parse(part)
            except Refused as refused:
                for r in refused.refusals:
                    instead = f"{key} = {r.instead}" if r.instead and not r.path else ""
                    refusals.append(Refusal(r.value, r.allowed, instead, (key, *r.path), r.fault))
        if refusals:
            raise Refused(*refusals)
        return {name: parsed[name] if name in parsed else self.fill[name] for name in self.names}


def mapping_refusal(value: object, allowed: str, instead: str = "") -> Refused:
    """A refusal of something that should have been a table."""
    return Refused(Refusal(value, allowed, instead))
