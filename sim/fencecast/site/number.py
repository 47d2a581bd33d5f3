"""What a check is, and the check of one number: limits, units, and the words that say so when it does not fit.

A check turns what was typed into what is stored (`parse`) or raises `Refused`. The reader adds the key's place; so a check
knows its noun, its limits and an example, and never where it stands.
"""

from __future__ import annotations

import math
import numbers
from abc import ABC, abstractmethod
from dataclasses import dataclass

from pydantic_core import core_schema

from fencecast.errors import Problem
from fencecast.units import (
    LENGTH_UNITS,
    TEMPERATURE_UNITS,
    parse_length,
    parse_temperature,
    parse_temperature_difference,
)


@dataclass
class Refusal:
    """One reason why a value is refused. `path` leads from the key to the part; `instead` is what to write after `KEY = `,
    where KEY is the key that was checked, or `key` when that is set."""

    value: object
    allowed: str
    instead: str = ""
    path: tuple[str, ...] = ()
    fault: str = "is not allowed"
    key: str = ""


class Refused(ValueError):
    """A value that a check does not take, with every reason."""

    def __init__(self, *refusals: Refusal):
        self.refusals = list(refusals)
        super().__init__("; ".join(str(Problem("value", r.value, r.allowed, r.instead, r.fault)) for r in refusals))


@dataclass(frozen=True)
class Check(ABC):
    """A base for checks: pydantic, too, asks `parse` when a table is built directly."""

    @abstractmethod
    def parse(self, value: object) -> object:
        """The value as it is stored; raises Refused."""

    def __get_pydantic_core_schema__(self, source, handler):
        return core_schema.no_info_plain_validator_function(self.parse)


# What a number is in: how it is shown behind a limit, how text with a unit is read, and what units may stand there.
_LENGTHS = {"m": "metres", "mm": "millimetres", "um": "micrometres"}
_SHOWN = {"c": " C", "k_difference": " K", "m": " m", "mm": " mm", "um": " um"}


def _limit(number: float) -> str:
    return str(number) if isinstance(number, int) else f"{number:.15g}"


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
        if self.at_least is not None and self.at_least == self.at_most:
            return f"{_limit(self.at_least)}, {self.noun}"
        if self.at_least is not None and self.at_most is not None:
            return f"{self.noun} from {_limit(self.at_least)} to {_limit(self.at_most)}{unit}"
        parts = [
            f"{word} {_limit(limit)}{unit}"
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
        try:
            if isinstance(value, bool) or not isinstance(value, numbers.Real) or not math.isfinite(value):
                raise ValueError("no finite number")
            # 160.0 is taken for 160: a dot is no mistake.
            if self.whole and value != int(value):
                raise ValueError("no whole number")
            return int(value) if self.whole else float(value)
        except (ValueError, OverflowError):
            raise Refused(Refusal(value, self.allowed, self.show(self.example))) from None

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
