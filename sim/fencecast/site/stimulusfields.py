"""What keys of `[[stimulus]]` may hold that no other table has: kinds, shares by barrier, hours, months, ranges of weather."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass

from fencecast.errors import close_match, name_list, show_value
from fencecast.site.fields import Points, Text, as_sequence
from fencecast.site.number import Check, Number, Refusal, Refused
from fencecast.site.quantity import Quantity
from fencecast.site.schema import OPEN_SHARE
from fencecast.site.stimuluskinds import FAMILIES, KINDS, OTHER_WORDS
from fencecast.site.varying import Varying

# What weather can switch a stimulus on and off: keys of [[weather]] that vary.
WEATHER_QUANTITIES = (
    "air_temperature_c",
    "relative_humidity",
    "wind_m_s",
    "visibility_m",
    "rain_mm_h",
    "snow_mm_h",
    "ground_minus_air_k",
    "clutter_k",
    "wetness",
)
BARRIERS = tuple(name for name in OPEN_SHARE if name != "none")
SEASONS = ("winter", "summer")
_share = Number("a share", 0.3, at_least=0, at_most=1)
_MOST_NEAR, _NEAR = 2, 0.7


@dataclass(frozen=True)
class Kind(Check):
    """The name of a kind, or "body" or "burst" for one whose numbers the user brings."""

    def parse(self, value: object) -> str:
        names = (*KINDS, *FAMILIES)
        if isinstance(value, str) and value in names:
            return value
        near: list[str] = []
        if isinstance(value, str):
            word = value.strip().lower()
            known = {name: [name] for name in names}
            for kind, others in OTHER_WORDS.items():
                for other in others:
                    known.setdefault(other, []).append(kind)
            found = difflib.get_close_matches(word, known, n=_MOST_NEAR, cutoff=_NEAR)
            near = list(dict.fromkeys(kind for each in found for kind in known[each]))
        hint = f"did you mean {' or '.join(show_value(name) for name in near)}? " if near else ""
        allowed = f'{hint}one of {name_list(KINDS)}, or "body" or "burst" with all of its numbers'
        raise Refused(Refusal(value, allowed, show_value(near[0] if near else "cat")))


@dataclass(frozen=True)
class Share(Check):
    """The share that gets through: one number for every barrier, or some by barrier; stored as a number, or by barrier."""

    def parse(self, value: object) -> float | dict[str, float]:
        if not isinstance(value, Mapping):
            try:
                return float(_share.parse(value))
            except Refused:
                allowed = f"{_share.allowed}, or a table of shares by barrier ({', '.join(BARRIERS)})"
                raise Refused(Refusal(value, allowed, "{ mesh = 0.3, palisade = 0.8 }")) from None
        return _by_name(value, dict.fromkeys(BARRIERS, _share), "{ mesh = 0.3, palisade = 0.8 }")


@dataclass(frozen=True)
class Coat(Check):
    """A quantity, or one for winter and one for summer; stored as a Quantity, or by season."""

    varying: Varying

    @property
    def number(self) -> Number:
        return self.varying.number

    def parse(self, value: object) -> Quantity | dict[str, Quantity]:
        if isinstance(value, Mapping) and set(SEASONS) & set(value):
            parsed = _by_name(value, dict.fromkeys(SEASONS, self.varying), "{ winter = 0.7, summer = 0.33 }")
            if len(parsed) < len(SEASONS):
                raise Refused(Refusal(value, "a coat for winter and one for summer", "{ winter = 0.7, summer = 0.33 }"))
            return parsed
        return self.varying.parse(value)


def _by_name(value: Mapping, checks: Mapping[str, Check], example: str) -> dict:
    """A small table of which keys may be left out."""
    if not value:
        raise Refused(Refusal(value, f"a table with some of the keys {', '.join(checks)}", example))
    parsed, refusals = {}, []
    for key, part in value.items():
        if key not in checks:
            near = close_match(key, checks)
            hint = f"did you mean {near}? " if near else ""
            refusals.append(Refusal(part, f"{hint}known here: {', '.join(checks)}", "", (str(key),), "is not a known key"))
            continue
        try:
            parsed[str(key)] = checks[key].parse(part)
        except Refused as refused:
            refusals += [
                Refusal(r.value, r.allowed, r.instead, (str(key), *r.path), r.fault, r.key or key) for r in refused.refusals
            ]
    if refusals:
        raise Refused(*refusals)
    return parsed


@dataclass(frozen=True)
class Spread(Check):
    """A median and the standard deviation of its logarithm; stored as a lognormal Quantity."""

    number: Number
    sigma_ln: float

    @property
    def example(self) -> str:
        return f"{{ median = {self.number.show(self.number.example)}, sigma_ln = {self.sigma_ln:g} }}"

    def parse(self, value: object) -> Quantity:
        if isinstance(value, Quantity):
            value = value.as_toml_value()
        good = isinstance(value, Mapping) and {"median", "sigma_ln"} <= set(value) <= {"dist", "median", "sigma_ln"}
        if not isinstance(value, Mapping) or not good or value.get("dist", "lognormal") != "lognormal":
            allowed = f"a table {{ median, sigma_ln }}: {self.number.allowed}, and the standard deviation of its logarithm"
            raise Refused(Refusal(value, allowed, self.example))
        parts, refusals = {}, []
        spread = Number("a standard deviation of the logarithm", self.sigma_ln, above=0, at_most=3)
        for key, check in (("median", self.number), ("sigma_ln", spread)):
            try:
                parts[key] = check.parse(value[key])
            except Refused as refused:
                refusals += [Refusal(r.value, r.allowed, self.example, (key,)) for r in refused.refusals]
        if refusals:
            raise Refused(*refusals)
        return Quantity.lognormal(parts["median"], parts["sigma_ln"])


@dataclass(frozen=True)
class BodySize(Check):
    """Height, length and breadth of a box in metres."""

    example: str = "[0.4, 0.7, 0.16]"

    def parse(self, value: object) -> tuple[float, float, float]:
        side = Number("a length", 0.4, at_least=0.01, at_most=20, unit="m")
        parts = as_sequence(value)
        try:
            if parts is None or len(parts) != 3:
                raise Refused
            height, length, breadth = (float(side.parse(part)) for part in parts)
        except Refused:
            allowed = "[height, length, breadth] of the body in metres, each from 0.01 to 20 m"
            raise Refused(Refusal(value, allowed, self.example)) from None
        return height, length, breadth


@dataclass(frozen=True)
class HourWeights(Check):
    """24 weights, one for each hour of the day."""

    def parse(self, value: object) -> tuple[float, ...]:
        weight = Number("a weight", 1.0, at_least=0)
        parts = as_sequence(value)
        try:
            if parts is None or len(parts) != 24:
                raise Refused
            weights = tuple(float(weight.parse(part)) for part in parts)
            if not any(weights):
                raise Refused
        except Refused:
            allowed = "24 weights, one for each hour from 00:00, none below 0 and not all of them 0"
            given = "" if parts is None or len(parts) == 24 else f"; these are {len(parts)}"
            raise Refused(Refusal(value, allowed + given, str([3.0] * 6 + [1.0] * 12 + [3.0] * 6))) from None
        return weights


@dataclass(frozen=True)
class Months(Check):
    """Months of the year by number, none twice."""

    def parse(self, value: object) -> tuple[int, ...]:
        month = Number("a month", 4, at_least=1, at_most=12, whole=True)
        parts = as_sequence(value)
        try:
            if not parts:
                raise Refused
            months = tuple(int(month.parse(part)) for part in parts)
            if len(set(months)) < len(months):
                raise Refused
        except Refused:
            raise Refused(Refusal(value, "a list of months, 1 to 12, none twice", "[4, 5, 6, 7, 8, 9, 10]")) from None
        return months


@dataclass(frozen=True)
class Active(Check):
    """Ranges of weather in which a stimulus is about: `{ air_temperature_c = [8, 99], wind_m_s = [0, 4] }`."""

    def parse(self, value: object) -> dict[str, tuple[float, float]]:
        example = "{ air_temperature_c = [8.0, 99.0], wind_m_s = [0.0, 4.0] }"
        if not isinstance(value, Mapping) or not value:
            allowed = f"a table of ranges [low, high] by quantity of the weather: {', '.join(WEATHER_QUANTITIES)}"
            raise Refused(Refusal(value, allowed, example))
        number = Number("a number", 4.0)
        parsed, refusals = {}, []
        for key, part in value.items():
            if key not in WEATHER_QUANTITIES:
                near = close_match(key, WEATHER_QUANTITIES)
                hint = f"did you mean {near}? " if near else ""
                known = f"{hint}quantities of the weather: {', '.join(WEATHER_QUANTITIES)}"
                refusals.append(Refusal(part, known, example, (str(key),), "is not a known quantity"))
                continue
            pair = as_sequence(part)
            try:
                if pair is None or len(pair) != 2:
                    raise Refused
                low, high = (float(number.parse(each)) for each in pair)
                if not low < high:
                    raise Refused
            except Refused:
                refusals.append(
                    Refusal(part, "[low, high], numbers with low below high", "[0.0, 4.0]", (str(key),), key=str(key))
                )
                continue
            parsed[str(key)] = (low, high)
        if refusals:
            raise Refused(*refusals)
        return parsed


@dataclass(frozen=True)
class At(Check):
    """Where a thing stands: `{ points_m = [[12.0, -1.0]], height_m = 3.0 }`, `name` when it has one of its own."""

    def parse(self, value: object) -> dict[str, object]:
        example = '{ name = "birch", points_m = [[12.0, -1.0]], height_m = 3.0 }'
        if not isinstance(value, Mapping):
            raise Refused(Refusal(value, "a table { name, points_m, height_m }", example))
        checks: dict[str, Check] = {
            "name": Text("a name", "birch"),
            "points_m": Points(1, "[[12.0, -1.0]]"),
            "height_m": Number("a height", 3.0, at_least=0, at_most=60, unit="m"),
        }
        parsed = _by_name(value, checks, example) if value else {}
        if "points_m" not in parsed:
            raise Refused(Refusal(value, "needs points_m, where it stands: one point, or some along it", example))
        return parsed
