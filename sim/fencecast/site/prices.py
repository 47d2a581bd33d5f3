"""`[prices]` and `[[item]]`: what `fencecast bill` needs beside the prices of parts. `run` does not look at them.

No price is built in, and one that is not given is no zero: it stays None, and the bill names it.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from fencecast.errors import Problem, close_match, show_value, toml_key
from fencecast.site.fields import OneOf, Text, as_sequence
from fencecast.site.number import Check, Number, Refusal, Refused
from fencecast.site.review import Date
from fencecast.site.schema import Table

PRICE = Number("a price", 650.0, at_least=0)
_UP_TO = Number("a height", 6.0, above=0, at_most=60, unit="m")
_STEP_KEYS = ("up_to_m", "price")
# What the number of an item is for: the whole site, each camera, each mast, each metre of fence.
PER = ("site", "camera", "mast", "fence_m")
KINDS = ("parts", "work")


@dataclass(frozen=True)
class MastPrices(Check):
    """One price for any mast, or prices by height; stored as a number, or as a tuple of {up_to_m, price} by rising height."""

    def parse(self, value: object) -> float | tuple[dict[str, float], ...]:
        example = "[{ up_to_m = 4.0, price = 480.0 }, { up_to_m = 6.0, price = 650.0 }]"
        allowed = "the price of a mast, or a list of tables { up_to_m, price } with rising heights"
        rows = as_sequence(value)
        if rows is None:
            try:
                return PRICE.parse(value)
            except Refused:
                raise Refused(Refusal(value, allowed, example)) from None
        steps: list[dict[str, float]] = []
        refusals = []
        for number, row in enumerate(rows, start=1):
            if not isinstance(row, Mapping) or not set(_STEP_KEYS) <= {*row, *_meant(row)}:
                raise Refused(Refusal(value, allowed, example))
            for key in [key for key in row if key not in _STEP_KEYS]:
                near = close_match(key, _STEP_KEYS)
                hint = f"did you mean {near}?" if near else f"known here: {', '.join(_STEP_KEYS)}"
                refusals.append(Refusal(row[key], hint, "", (f"step {number}", str(key)), "is not a known key"))
            step = {}
            for key, check in (("up_to_m", _UP_TO), ("price", PRICE)):
                try:
                    step[key] = check.parse(row[key]) if key in row else 0.0
                except Refused as refused:
                    refusals += [
                        Refusal(r.value, r.allowed, r.instead, (f"step {number}", key), key=key) for r in refused.refusals
                    ]
            steps.append(step)
        if refusals:
            raise Refused(*refusals)
        heights = [step["up_to_m"] for step in steps]
        if not steps or any(high <= low for low, high in zip(heights, heights[1:])):
            raise Refused(Refusal(value, allowed, example))
        return tuple(steps)


def _meant(row: Mapping) -> list[str | None]:
    """Keys of a step that misspelt ones stand for: one mistake is one problem."""
    return [close_match(key, _STEP_KEYS) for key in row if key not in _STEP_KEYS]


@dataclass(frozen=True)
class PricesByName(Check):
    """`{ "NAME" = price, ... }`; whether somebody has such a name is asked by the bill, because a variant may take it away."""

    def parse(self, value: object) -> dict[str, float]:
        example = '{ "north switch" = 380.0 }'
        if not isinstance(value, Mapping) or not value:
            raise Refused(Refusal(value, "a table of prices by the names in depends_on of [[camera]]", example))
        parsed, refusals = {}, []
        for key, price in value.items():
            try:
                parsed[str(key)] = PRICE.parse(price)
            except Refused as refused:
                refusals += [
                    Refusal(r.value, r.allowed, r.instead, (show_value(str(key)),), r.fault, toml_key(key))
                    for r in refused.refusals
                ]
        if refusals:
            raise Refused(*refusals)
        return parsed


def half_priced(sensors: Mapping[str, float | None], lenses: Mapping[str, float | None]) -> list[Problem]:
    """A problem for every part of a kit without a price where another part has one; nothing when all have one, or none.

    sensors, lenses: prices by name. For whoever chooses by price: a part without one would be taken for free.
    """
    prices = {f"[{table}.{toml_key(name)}]": price for table, parts in (("sensors", sensors), ("lenses", lenses))
              for name, price in parts.items()}  # fmt: skip
    if all(price is None for price in prices.values()):
        return []
    allowed = "a price for every sensor and lens of the kit, or for none"
    missing = [where for where, price in prices.items() if price is None]
    return [Problem(f"{where} price", Problem.MISSING, allowed, "price = 0.0") for where in missing]


class Prices(Table):
    """`[prices]`: whose prices, of when, and those that belong to no other table."""

    currency: Annotated[str | None, Text("a currency", "EUR", longest=20)] = None
    date: Annotated[datetime.date | None, Date()] = None
    source: Annotated[str | None, Text("where the prices come from", "offer 1042 of the installer", longest=120)] = None
    masts: Annotated[float | tuple[dict[str, float], ...] | None, MastPrices()] = None
    on_building: Annotated[float | None, PRICE] = None
    depends_on: Annotated[dict[str, float], PricesByName()] = {}

    def mast(self, height_m: float) -> float | None:
        """Price of a mast that carries a camera at this height [m]; None where none is given for it."""
        if self.masts is None or isinstance(self.masts, float):
            return self.masts
        return next((step["price"] for step in self.masts if height_m <= step["up_to_m"] + 1e-9), None)


class PricedItem(Table):
    """`[[item]]`: whatever else belongs in the bill, by a quantity that the user gives."""

    name: Annotated[str, Text("a name", "walk test")]
    kind: Annotated[str, OneOf(KINDS)] = "work"
    per: Annotated[str, OneOf(PER)] = "site"
    number: Annotated[float, Number("a quantity", 16.0, above=0, at_most=1e6)] = 1.0
    unit: Annotated[str | None, Text("a unit", "h", longest=12)] = None
    price: Annotated[float | None, PRICE] = None
