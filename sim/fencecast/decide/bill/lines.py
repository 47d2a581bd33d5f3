"""The bill of one site: quantities from its cameras, masts and `[[item]]` tables, prices from wherever the site file has them.

What has no price keeps None, from the first line to the last sum: nothing here ever turns it into a zero.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from fencecast.decide.bill.standing import Standing, standing_of
from fencecast.decide.place.bill import MASTS, PARTS, WORK
from fencecast.errors import show_value
from fencecast.site import Site
from fencecast.site.geometry import section_length_m
from fencecast.site.prices import PricedItem


@dataclass(frozen=True)
class BillLine:
    """One line: kind ("parts", "masts" or "work"), what it is, how much of it in which unit ("" for pieces), the price of one.

    each: None without a price; key: where its price stands in the site file, or could.
    """

    kind: str
    name: str
    number: float
    unit: str
    each: float | None
    key: str

    @property
    def total(self) -> float | None:
        """Number times price to the cent, as an invoice has it; None without a price."""
        return None if self.each is None else round(self.number * self.each, 2)


@dataclass(frozen=True)
class Bill:
    """The bill of one design. fence_m: length of all its perimeters [m]; meets_m: metres that meet the requirement in every
    weather class that was simulated, None when nothing was; sensors, lenses: how many of each by name; masts: how many."""

    name: str
    lines: tuple[BillLine, ...]
    cameras: int
    sensors: dict[str, int]
    lenses: dict[str, int]
    masts: int
    fence_m: float
    meets_m: float | None = None

    @property
    def unpriced(self) -> tuple[BillLine, ...]:
        """The lines without a price: with the others they are all lines."""
        return tuple(line for line in self.lines if line.each is None)

    @property
    def complete(self) -> bool:
        """Whether every line has a price; if not, `total` is a lower bound."""
        return not self.unpriced

    @property
    def total(self) -> float | None:
        """Sum of the lines that have a price; None when there are lines and none has one."""
        priced = [line.total for line in self.lines if line.total is not None]
        return round(math.fsum(priced), 2) if priced or self.complete else None

    @property
    def per_fence_m(self) -> float | None:
        """The total for each metre of fence."""
        return self._for_each(self.fence_m)

    @property
    def per_meets_m(self) -> float | None:
        """The total for each metre that meets; None without a simulation, and where no metre meets."""
        return self._for_each(self.meets_m or 0.0)

    def _for_each(self, metres: float) -> float | None:
        return self.total / metres if self.total is not None and metres > 0.0 else None

    def of_kind(self, kind: str) -> float | None:
        """The total of the priced lines of one kind; None when it has lines and none of them has a price."""
        lines = [line for line in self.lines if line.kind == kind]
        priced = [line.total for line in lines if line.total is not None]
        return round(math.fsum(priced), 2) if priced or not lines else None

    def less(self, base: Bill) -> float | None:
        """The total less that of another design; None when what has no price differs, because then nobody knows."""
        missing = [Counter({(line.name, line.unit): line.number for line in bill.unpriced}) for bill in (self, base)]
        if self.total is None or base.total is None or missing[0] != missing[1]:
            return None
        return round(self.total - base.total, 2)


def bill_of(site: Site, name: str = "", meets_m: float | None = None, turned: int = 0) -> Bill:
    """The bill of a site. name: of the design; meets_m: see `Bill`; turned: cameras that are there already and are turned."""
    standing = standing_of(site)
    lines = [*_cameras(site), *_shared(site, standing), *_masts(site, standing), *_work(site, turned)]
    counts = {"site": 1.0, "camera": float(len(site.camera)), "mast": float(len(standing.masts)), "fence_m": _fence_m(site)}
    lines += [_of_item(item, counts[item.per]) for item in site.item if counts[item.per]]
    order = {PARTS: 0, MASTS: 1, WORK: 2}
    return Bill(
        name=name,
        lines=tuple(sorted(lines, key=lambda line: order[line.kind])),
        cameras=len(site.camera),
        sensors=dict(sorted(Counter(camera.sensor for camera in site.camera).items())),
        lenses=dict(sorted(Counter(camera.lens for camera in site.camera).items())),
        masts=len(standing.masts),
        fence_m=_fence_m(site),
        meets_m=meets_m,
    )


def _fence_m(site: Site) -> float:
    return math.fsum(section_length_m(section) for section in site.perimeter)


def _cameras(site: Site) -> Iterator[BillLine]:
    """Cameras with a price of their own by that price, the others as a sensor and a lens each."""
    own: dict[tuple[str, str, float], list[str]] = {}
    parts: Counter = Counter()
    for camera in site.camera:
        if camera.price is not None:
            own.setdefault((camera.sensor, camera.lens, camera.price), []).append(camera.mark)
        else:
            parts["sensors", camera.sensor] += 1
            parts["lenses", camera.lens] += 1
    for (sensor, lens, price), marks in sorted(own.items()):
        name = f"camera: sensor {sensor}, lens {lens}"
        yield BillLine(PARTS, name, len(marks), "", price, f"camera {', '.join(map(show_value, marks))} price")
    for (table, part), count in sorted(parts.items(), key=lambda each: (each[0][0] == "lenses", each[0][1])):
        word = "sensor" if table == "sensors" else "lens"
        yield BillLine(PARTS, f"{word} {part}", count, "", getattr(site, table)[part].price, f"[{table}.{part}] price")


def _shared(site: Site, standing: Standing) -> Iterator[BillLine]:
    """What cameras depend on, one of each name; masts that are named so have a line as masts."""
    prices = site.prices.depends_on if site.prices else {}
    for name in dict.fromkeys(camera.depends_on for camera in site.camera if camera.depends_on):
        if name not in standing.named:
            yield BillLine(PARTS, name, 1, "", prices.get(name), "[prices] depends_on")


def _masts(site: Site, standing: Standing) -> Iterator[BillLine]:
    lines: Counter = Counter((mast.name, mast.price, mast.key) for mast in standing.masts)
    for (name, price, key), count in lines.items():
        yield BillLine(MASTS, name, count, "", price, key)
    price = site.prices.on_building if site.prices else None
    for name, count in Counter(standing.on_buildings).items():
        yield BillLine(MASTS, f"place on {name}", count, "", price, "[prices] on_building")


def _work(site: Site, turned: int) -> Iterator[BillLine]:
    if site.camera and "camera_price" in site.kit.model_fields_set:
        yield BillLine(WORK, "fitting of a camera", len(site.camera), "", site.kit.camera_price, "[kit] camera_price")
    if turned:
        price = site.kit.reaim_price if "reaim_price" in site.kit.model_fields_set else None
        yield BillLine(WORK, "turning of a camera that is there", turned, "", price, "[kit] reaim_price")


def _of_item(item: PricedItem, count: float) -> BillLine:
    kind = PARTS if item.kind == "parts" else WORK
    key = f"item {show_value(item.name)} price"
    return BillLine(kind, item.name, item.number * count, item.unit or "", item.price, key)
