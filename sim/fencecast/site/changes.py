"""`[[variant]]`: the same site with other values, which `fencecast compare` compares with the site as it is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from fencecast.site.fields import Names, Text
from fencecast.site.number import Check, Refusal, Refused
from fencecast.site.schema import Table


@dataclass(frozen=True)
class Changes(Check):
    """Values by key path, as nested tables: `change.camera.C1.lens = "long"`. What they name is looked up in the site later."""

    example: str = '{ camera = { C1 = { lens = "long" } } }'

    def parse(self, value: object) -> dict:
        good = isinstance(value, Mapping) and value and all(isinstance(part, Mapping) and part for part in value.values())
        if not good:
            allowed = "values by key path, as in change.camera.C1.lens = ..., change.lenses.wide.f_number = ... or "
            raise Refused(Refusal(value, f"{allowed}change.decision.threshold_sigma = ...", self.example))
        return {str(key): dict(part) for key, part in value.items()}


class Variant(Table):
    """`[[variant]]`: other values by key path, and cameras that are taken away."""

    name: Annotated[str, Text("a name", "6 mm lenses", longest=40)]
    change: Annotated[dict, Changes()] = {}
    without: Annotated[tuple[str, ...], Names("marks of cameras", '["C1", "C2"]')] = ()
