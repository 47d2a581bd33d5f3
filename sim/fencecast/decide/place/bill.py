"""What a set costs, item by item: parts, mounting places, work."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from fencecast.decide.place.candidates import NEW, Candidate
from fencecast.decide.place.kit import Kit
from fencecast.site import Site

PARTS, MASTS, WORK = "parts", "masts", "work"


@dataclass(frozen=True)
class Item:
    """One line of a bill: kind ("parts", "masts" or "work"), what it is, how many, and what each and all cost."""

    kind: str
    name: str
    count: int
    each: float
    total: float


def bill_of(site: Site, kit: Kit, chosen: Sequence[Candidate]) -> tuple[Item, ...]:
    """The bill of a set beside the site as it is; with prices its totals add up to the cost of the set.

    Without prices parts are counted and nothing costs anything. Masts: what the mounting asks for each camera there.
    """
    lines: Counter = Counter()
    for candidate in chosen:
        camera = candidate.camera
        if candidate.kind == "as it is":
            continue
        if candidate.group == NEW:
            sensor, lens = (site.sensors[camera.sensor].price or 0.0), (site.lenses[camera.lens].price or 0.0)
            lines[PARTS, f"sensor {camera.sensor}", sensor] += 1
            lines[PARTS, f"lens {camera.lens}", lens] += 1
            fitting = site.kit.camera_price if kit.priced else 0.0
            lines[WORK, "fitting of a new camera", fitting] += 1
            mast = candidate.cost - sensor - lens - fitting if kit.priced else 0.0
            lines[MASTS, f"place for a camera {camera.height_m:g} m up", round(mast, 2)] += 1
        else:
            if candidate.kind == "lens":
                lines[PARTS, f"lens {camera.lens}", site.lenses[camera.lens].price or 0.0] += 1
            lines[WORK, "turning a camera", kit.reaim_price if kit.priced else 0.0] += 1
    order = {PARTS: 0, MASTS: 1, WORK: 2}
    items = [Item(kind, name, count, each, count * each) for (kind, name, each), count in lines.items()]
    if not kit.priced:
        items = [Item(item.kind, item.name, item.count, 0.0, 0.0) for item in items]
    return tuple(sorted(items, key=lambda item: (order[item.kind], item.name, item.each)))
