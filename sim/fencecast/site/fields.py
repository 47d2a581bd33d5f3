"""What a key of a site file may hold when it is not one number: text, words from a list, points, small tables."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from fencecast.errors import close_match, name_list, show_value
from fencecast.site.number import Check, Number, Refusal, Refused
from fencecast.units import LENGTH_UNITS

LARGEST_COORDINATE_M = 100_000.0


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
    # Words of earlier versions: (old, new).
    formerly: tuple[tuple[str, str], ...] = ()

    @property
    def allowed(self) -> str:
        return f"one of {name_list(self.options)}"

    def parse(self, value: object) -> str:
        if not isinstance(value, str) or value not in self.options:
            near = (
                dict(self.formerly).get(str(value))
                or (close_match(value, self.options) if isinstance(value, str) else None)
                or self.options[0]
            )
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
    if hasattr(value, "tolist"):
        value = value.tolist()
    return list(value) if isinstance(value, (list, tuple)) else None


@dataclass(frozen=True)
class Point(Check):
    """Two coordinates in metres, x to the east and y to the north."""

    def parse(self, value: object) -> tuple[float, float]:
        pair = as_sequence(value)
        try:
            if pair is None or len(pair) != 2:
                raise Refused
            point = _COORDINATE.number(pair[0]), _COORDINATE.number(pair[1])
        except Refused:
            allowed = f"a point [x, y]: two lengths, x to the east and y to the north ({LENGTH_UNITS} in quotes, or plain metres)"
            raise Refused(Refusal(value, allowed, "[12.5, 40.0]")) from None
        if not all(_COORDINATE.fits(each) for each in point):
            allowed = (
                f"a point within {LARGEST_COORDINATE_M:,.0f} m of the origin; subtract the same round numbers from all points"
            )
            raise Refused(Refusal(value, allowed, "[12.5, 40.0]"))
        return point


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
    """Two numbers of which the first is not above the second (`strict`: below it); `open_ends`: a 0 is no limit at that end."""

    item: Number
    example: str
    words: str
    strict: bool = False
    open_ends: bool = False

    def parse(self, value: object) -> tuple:
        pair = as_sequence(value)
        try:
            if pair is None or len(pair) != 2:
                raise Refused
            low, high = self.item.parse(pair[0]), self.item.parse(pair[1])
        except Refused:
            raise Refused(Refusal(value, self.words, self.example)) from None
        if self.open_ends and 0 in (low, high):
            return low, high
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
                    refusals.append(Refusal(r.value, r.allowed, r.instead, (key, *r.path), r.fault, r.key or key))
        if refusals:
            raise Refused(*refusals)
        return {name: parsed[name] if name in parsed else self.fill[name] for name in self.names}
