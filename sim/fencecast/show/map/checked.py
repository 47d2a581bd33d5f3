"""What a design review found, as lines on a map: one for each stretch of fence that a finding names."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Protocol

from fencecast.maps.features import LINE
from fencecast.maps.things import Thing, stretch
from fencecast.show.paper import style
from fencecast.site import Site

STYLES: dict[str, dict[str, object]] = {
    "stop": {"line": style.INK, "width": 5},
    "warn": {"line": style.SECOND, "width": 4},
    "note": {"line": style.LINE, "width": 3},
}


class Stretch(Protocol):
    """A part of one section: its number in the site, and chainages [m]."""

    @property
    def section(self) -> int: ...
    @property
    def start_m(self) -> float: ...
    @property
    def end_m(self) -> float: ...


class Found(Protocol):
    """A finding as a review gives it."""

    @property
    def id(self) -> str: ...
    @property
    def severity(self) -> str: ...
    @property
    def object(self) -> str: ...
    @property
    def value(self) -> float: ...
    @property
    def limit(self) -> float: ...
    @property
    def unit(self) -> str: ...
    @property
    def spans(self) -> Sequence[Stretch]: ...


def finding_things(site: Site, findings: Iterable[Found]) -> list[Thing]:
    """A line along the fence for each stretch of each finding; findings without a stretch have no place on a map."""
    things = []
    for found in findings:
        keys = {
            "id": found.id,
            "severity": found.severity,
            "object": found.object,
            "measured": float(found.value),
            "limit": float(found.limit),
            "unit": found.unit,
        }
        for span in found.spans:
            section = site.perimeter[span.section]
            line = stretch(section, span.start_m, span.end_m)
            where: dict[str, object] = {"section": section.name, "from_m": float(span.start_m), "to_m": float(span.end_m)}
            name = f"{found.severity} {found.id}: {found.object}"
            things.append(Thing("finding", name, LINE, (line,), keys | where, "findings", found.severity))
    return things
