"""`[built]`: which cameras have been measured on the finished site, and by what. The simulation does not look at it.

Marks of cameras are not held against those of the site: `without` and variants take cameras away.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from fencecast.site.fields import Names, Text
from fencecast.site.number import Check, Number, Refusal, Refused
from fencecast.site.schema import Table


@dataclass(frozen=True)
class ByMark(Check):
    """A small table of numbers by marks of cameras."""

    item: Number
    example: str

    def parse(self, value: object) -> dict[str, float | int]:
        if not isinstance(value, Mapping) or not value or not all(isinstance(mark, str) for mark in value):
            raise Refused(Refusal(value, f"a table of numbers by marks of cameras, each {self.item.allowed}", self.example))
        found, refusals = {}, []
        for mark, each in value.items():
            try:
                found[mark] = self.item.parse(each)
            except Refused as refused:
                refusals += [Refusal(r.value, r.allowed, "", (mark,)) for r in refused.refusals]
        if refusals:
            raise Refused(*refusals)
        return found


class Built(Table):
    """`[built]`, as `fencecast built` writes it."""

    date: Annotated[str, Text("a date", "2026-11-30", longest=40)]
    marks_sha256: Annotated[str | None, Text("a hash", "9f2c", longest=64)] = None
    chi2: Annotated[
        dict[str, float] | None, ByMark(Number("a sum of squares", 6.1, at_least=0, at_most=1e9), "{ C1 = 6.1, C2 = 3.2 }")
    ] = None
    dof: Annotated[
        dict[str, int] | None, ByMark(Number("a whole number", 6, at_least=0, at_most=1000, whole=True), "{ C1 = 6, C2 = 4 }")
    ] = None
    readings: Annotated[
        dict[str, int] | None, ByMark(Number("a whole number", 8, at_least=0, at_most=1000, whole=True), "{ C1 = 8, C2 = 6 }")
    ] = None
    not_fitted: Annotated[tuple[str, ...] | None, Names("marks of cameras", '["C3"]')] = None
