"""A key that holds a number or a distribution: reads it, and keeps every draw inside what is physically possible."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from statistics import NormalDist

from fencecast.errors import close_match, name_list
from fencecast.site.fields import as_sequence
from fencecast.site.number import Check, Number, Refusal, Refused
from fencecast.site.quantity import KEYS, Quantity

DISTRIBUTIONS = tuple(name for name in KEYS if name != "fixed")
_SMALLEST_SHARE_LEFT = 1e-6


@dataclass(frozen=True)
class Varying(Check):
    """A fixed number or a table { dist = ... }; `number` holds the limits that no draw may pass.

    { median, sigma_ln } alone is a lognormal. cut: draws are cut to the limits where they are used, so tails may pass them.
    """

    number: Number
    cut: bool = False

    def parse(self, value: object) -> Quantity:
        if isinstance(value, Quantity):
            value = value.as_toml_value()
        if isinstance(value, Mapping):
            if "dist" not in value and {"median", "sigma_ln"} & set(value):
                value = {"dist": "lognormal", **value}
            return _Table(self.number, value, self.cut).quantity()
        try:
            return Quantity.fixed(self.number.parse(value))
        except Refused as refused:
            for refusal in refused.refusals if not isinstance(value, str) else ():
                refusal.allowed += ' (or a table such as { dist = "uniform", low, high })'
            raise


class _Table:
    """One table { dist = ... } on its way to a Quantity; collects all that is wrong with it."""

    def __init__(self, number: Number, table: Mapping, cut: bool = False):
        self.number, self.table, self.cut, self.refusals = number, table, cut, []

    def refuse(self, key: str, allowed: str, value: object = None, fault: str = "is not allowed") -> None:
        shown = self.table.get(key) if value is None else value
        self.refusals.append(Refusal(shown, allowed, self.example(), (key,) if key else (), fault))

    def example(self) -> str:
        """A table of the asked kind that would be accepted."""
        low = self.number.example
        high = self.number.example_high if self.number.example_high is not None else low * 1.2
        middle, spread = (low + high) / 2, (high - low) / 4
        r = self.rounded
        parts = {
            "uniform": f"low = {r(low)}, high = {r(high)}",
            "normal": f"mean = {r(middle)}, sd = {r(spread)}, low = {r(low)}, high = {r(high)}",
            "lognormal": f"median = {r(middle)}, sigma_ln = {self.log_spread(middle):.2g}",
            "triangular": f"low = {r(low)}, mode = {r(middle)}, high = {r(high)}",
            "choice": f"values = [{r(low)}, {r(high)}], weights = [0.7, 0.3]",
        }
        kind = str(self.table.get("dist"))
        if kind not in parts or (kind == "lognormal" and middle <= 0.0):
            kind = "uniform"
        return f'{{ dist = "{kind}", {parts[kind]} }}'

    def log_spread(self, median: float) -> float:
        """A standard deviation of the logarithm that keeps a lognormal within the key's limits."""
        lowest, highest = self.number.limits
        if median <= 0.0:
            return 0.3
        room = min(math.log(highest / median), math.log(median / lowest) if lowest > 0.0 else math.inf)
        return min(0.3, room / 6.0)

    @staticmethod
    def rounded(number: float) -> str:
        return repr(float(f"{number:.6g}"))

    def quantity(self) -> Quantity:
        kind = self.table.get("dist")
        if not isinstance(kind, str) or kind not in DISTRIBUTIONS:
            near = close_match(kind, DISTRIBUTIONS) if isinstance(kind, str) else None
            hint = f'did you mean "{near}"? ' if near else ""
            missing = "dist" not in self.table
            value = self.table if missing else kind
            self.refuse("" if missing else "dist", f"{hint}dist is one of {name_list(DISTRIBUTIONS)}", value)
            raise Refused(*self.refusals)
        needed, optional = KEYS[kind]
        for key in self.table:
            if key not in ("dist", *needed, *optional):
                near = close_match(key, (*needed, *optional))
                hint = f"did you mean {near}? " if near else ""
                self.refuse(str(key), f"{hint}a {kind} has {', '.join((*needed, *optional))}", fault="is not a known key")
        absent = [key for key in needed if key not in self.table]
        if absent:
            self.refuse("", f"a {kind} needs {', '.join(needed)}; {', '.join(absent)} left out", self.table)
        parts = self.numbers_of([key for key in (*needed, *optional) if key in self.table])
        if not self.refusals:
            self.order(kind, parts)
        if self.refusals:
            raise Refused(*self.refusals)
        result = Quantity(kind, **parts)
        result = self.within_limits(result)
        if self.refusals:
            raise Refused(*self.refusals)
        return result

    def numbers_of(self, keys: list[str]) -> dict:
        """The parts as finite numbers in the key's unit; a standard deviation of temperatures has no offset."""
        spread = Number(
            "a standard deviation", 1.0, above=0.0, unit="k_difference" if self.number.unit == "c" else self.number.unit
        )
        log_spread = Number("a standard deviation of the logarithm", 0.3, above=0.0, at_most=3.0)
        weight = Number("a weight", 1.0, at_least=0.0)
        parts = {}
        for key in keys:
            value = self.table[key]
            try:
                if key in ("values", "weights"):
                    each = as_sequence(value)
                    if not each:
                        raise Refused(Refusal(value, "a list of numbers, one or more"))
                    parts[key] = tuple(float(weight.parse(v) if key == "weights" else self.number.number(v)) for v in each)
                elif key == "sd":
                    parts[key] = float(spread.parse(value))
                elif key == "sigma_ln":
                    parts[key] = float(log_spread.parse(value))
                else:
                    parts[key] = float(self.number.number(value))
            except Refused as refused:
                for refusal in refused.refusals:
                    self.refuse(key, refusal.allowed, refusal.value)
        return parts

    def order(self, kind: str, parts: dict) -> None:
        """What the parts must be to each other."""
        low, high = parts.get("low"), parts.get("high")
        if low is not None and high is not None and not low < high:
            self.refuse("low", f"a value below high = {self.rounded(high)}; for one fixed value type the number alone")
        elif kind == "triangular" and not low <= parts["mode"] <= high:
            self.refuse("mode", f"a value from low = {self.rounded(low)} to high = {self.rounded(high)}")
        elif kind == "lognormal" and not parts["median"] > 0.0:
            self.refuse("median", "a value above 0: its logarithm is taken")
        elif kind == "choice":
            weights = parts.setdefault("weights", (1.0,) * len(parts["values"]))
            total = math.fsum(weights)
            if len(weights) != len(parts["values"]):
                self.refuse("weights", f"as many weights as values ({len(parts['values'])})")
            elif not total > 0.0:
                self.refuse("weights", "weights of which at least one is above 0")
            elif abs(total - 1.0) > 1e-12:
                parts["weights"] = tuple(weight / total for weight in weights)

    def within_limits(self, result: Quantity) -> Quantity:
        """Refuses what could leave the physical limits; a normal far inside them is cut at them, so that no draw ever can."""
        number = self.number
        for key in ("low", "high", "mean", "median"):
            part = getattr(result, key)
            if part is not None and not number.fits(part):
                self.refuse(key, number.allowed)
        for value in result.values or ():
            if not number.fits(value):
                self.refuse("values", number.allowed, value)
        if self.refusals or self.cut:
            return result
        lowest, highest = number.limits
        likely_low, likely_high = result.likely_bounds()
        if result.dist == "normal":
            needs = [key for key, past in (("low", likely_low < lowest), ("high", likely_high > highest)) if past]
            if needs:
                self.refuse("", f"{number.allowed}; this normal goes beyond: give it a {' and a '.join(needs)}", self.table)
            # Farther out than 10 standard deviations no draw in double precision comes: no cut needed.
            reach_low, reach_high = result.likely_bounds(sds=10.0)
            if result.low is None and reach_low < lowest:
                result = replace(result, low=float(lowest))
            if result.high is None and reach_high > highest:
                result = replace(result, high=float(highest))
            share = _share_left(result)
            if share < _SMALLEST_SHARE_LEFT:
                self.refuse("", "low and high must leave more than a millionth of the normal between them", self.table)
        elif result.dist == "lognormal" and (likely_high > highest or likely_low < lowest):
            self.refuse("sigma_ln", f"{number.allowed}; this lognormal goes beyond: choose a smaller sigma_ln or another dist")
        return result


def _share_left(quantity: Quantity) -> float:
    unit = NormalDist(quantity.mean, quantity.sd)
    low, high = quantity.bounds()
    if low > quantity.mean:
        # By symmetry, so that a difference of two numbers near 1 is never taken.
        low, high = 2 * quantity.mean - high, 2 * quantity.mean - low
    return (1.0 if high == math.inf else unit.cdf(high)) - (0.0 if low == -math.inf else unit.cdf(low))
