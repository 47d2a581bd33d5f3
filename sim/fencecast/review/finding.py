"""What a check finds, as data; sentences are made of it in `findings.check`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from fencecast.site.review import GROUP_OF, Accept

STOP, WARN, NOTE = "stop", "warn", "note"
SEVERITIES = (STOP, WARN, NOTE)


def over(value: float, limit: float) -> bool:
    """Whether metres, rounded as they are printed, are more than a limit: what is printed as equal to it is no finding."""
    return round(value, 1) > limit


@dataclass(frozen=True)
class Span:
    """A stretch of one section, by its number and chainage [m]."""

    section: int
    start_m: float
    end_m: float

    @property
    def length_m(self) -> float:
        return self.end_m - self.start_m


@dataclass(frozen=True)
class Finding:
    """One thing found on one object. (id, object) names it; places of one object are one finding.

    kind and name make the object as printed: kind "camera", "section", "rule", "obstacle", "gate", "weather", "site" ...
    value and limit in `unit`; `worse`: +1 when a larger value is worse, -1 when a smaller one is.
    facts: what its sentence needs besides.
    """

    id: str
    severity: str
    kind: str
    name: str
    value: float
    unit: str
    limit: float
    spans: tuple[Span, ...] = ()
    worse: int = 1
    facts: Mapping[str, object] = field(default_factory=dict)
    accepted: Accept | None = None
    again: bool = False

    @property
    def object(self) -> str:
        """As printed, and as an acceptance names it: `camera T5, T6`, `quay`, `the site`."""
        if self.kind == "site":
            return "the site"
        return self.name if self.kind == "section" else f"{self.kind} {self.name}"

    @property
    def group(self) -> str:
        return GROUP_OF[self.id]

    @property
    def open(self) -> bool:
        return self.accepted is None or self.again


@dataclass(frozen=True)
class NotAsked:
    """A check that could not be asked, and the key that would let it be."""

    id: str
    key: str
