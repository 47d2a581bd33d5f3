"""What may be put up, and where: mountings and the kit, for commands that propose cameras. `run` does not look at them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

from fencecast.errors import UsageError
from fencecast.site.fields import Names, Points, Text, as_sequence
from fencecast.site.number import Check, Number, Refusal, Refused
from fencecast.site.schema import Table

if TYPE_CHECKING:
    from fencecast.site.whole import Site

_PRICE = Number("a price", 150.0, at_least=0)


@dataclass(frozen=True)
class NumberList(Check):
    """A list of numbers, none twice."""

    item: Number
    example: str

    def parse(self, value: object) -> tuple[float, ...]:
        rows = as_sequence(value)
        words = f"a list of one or more numbers, none twice, each {self.item.allowed}"
        try:
            if not rows:
                raise Refused
            numbers = tuple(self.item.parse(row) for row in rows)
            if len(set(numbers)) < len(numbers):
                raise Refused
        except Refused:
            raise Refused(Refusal(value, words, self.example)) from None
        return numbers


class Mounting(Table):
    """`[[mounting]]`: where cameras may stand. One point is a mast, two or more a line, a ring (first point repeated) an area."""

    name: Annotated[str, Text("a name", "inside of the north fence")]
    points_m: Annotated[tuple[tuple[float, float], ...], Points(1, "[[2.0, 1.0], [46.0, 1.0]]")]
    heights_m: Annotated[tuple[float, ...], NumberList(Number("a height", 4.0, above=0, at_most=60, unit="m"), "[4.0, 6.0]")]
    spacing_m: Annotated[float, Number("a distance between places tried", 4.0, at_least=0.25, at_most=1000, unit="m")] = 4.0
    price: Annotated[float, _PRICE] = 0.0


class Kit(Table):
    """`[kit]`: the sensors and lenses to choose from (all when left out), and what work costs beside them."""

    sensors: Annotated[tuple[str, ...], Names("names of sensors", '["core"]')] = ()
    lenses: Annotated[tuple[str, ...], Names("names of lenses", '["wide", "long"]')] = ()
    camera_price: Annotated[float, _PRICE] = 0.0
    reaim_price: Annotated[float, _PRICE] = 0.0


def need_camera(site: Site) -> None:
    """UsageError for a site that has mountings for cameras and no camera yet, from which only a proposal can start."""
    if not site.camera:
        raise UsageError("this site has no [[camera]] yet; propose some with: fencecast place SITE.toml, or add one")
