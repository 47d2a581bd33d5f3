"""A walk as it was logged: what `read` makes of a row, and what scores and fits take.

Tests: tests/prove/log.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

# What a camera's cell says: no alarm; an alarm without its time; an alarm so many seconds after the line was crossed (negative:
# before), by the caller's clock; the camera was off.
Heard = Literal["no", "yes", "off"] | float


@dataclass(frozen=True)
class Walked:
    """One row. crossed: foot over the line, by the caller's clock. heard: every camera of the plan (`WalkPlan.marks`).

    conditions: what was noted of the weather, keys air_c, humidity, wind_m_s, visibility_m, rain_mm_h, ground_c, where given.
    void: "" or the reason. kind: the plan's kind of that place, gait and direction, None when it has none. row: in the file.
    """

    trial: int
    place: str
    gait: str
    direction: Literal["in", "out"]
    walker: str
    crossed: datetime.datetime
    heard: Mapping[str, Heard]
    kind: str | None
    claim: str | None
    control: bool
    weather: str
    conditions: Mapping[str, float] = field(default_factory=dict)
    depth_m: float | None = None
    void: str = ""
    note: str = ""
    row: int = 0

    @property
    def counts(self) -> bool:
        """Neither void nor a control."""
        return not self.void and not self.control

    @property
    def alarm(self) -> bool:
        """Some camera raised an alarm."""
        return any(heard not in ("no", "off") for heard in self.heard.values())

    def pattern(self, marks: tuple[str, ...]) -> tuple[int, ...]:
        """1 alarm, 0 none, -1 off, per camera of `marks`."""
        return tuple({"no": 0, "off": -1}.get(heard, 1) if isinstance(heard, str) else 1 for heard in map(self.heard.get, marks))


@dataclass(frozen=True)
class Outside:
    """An alarm of one camera that belongs to no walk; by the caller's clock."""

    moment: datetime.datetime
    mark: str
    row: int = 0


@dataclass(frozen=True)
class WalkLog:
    """One log: walks in order of their crossing, warnings as sentences, fingerprint of the file.

    clock_s: (offset at the first check, drift per hour), recorder minus caller; None without clock checks. outside: alarms that
    belong to no walk, counted over watch_h hours (of the watch, from first row to last, without the windows of walks).
    not_walked: numbers of cards whose row is empty. unit_s: the unit to which times are read.
    rehearsal: some walk that counts is simulated, and nobody walked it.
    """

    file: str
    walks: tuple[Walked, ...]
    warnings: tuple[str, ...]
    sha256: str
    clock_s: tuple[float, float] | None = None
    outside: tuple[Outside, ...] = ()
    watch_h: float = 0.0
    not_walked: tuple[int, ...] = ()
    unit_s: float = 1.0
    rehearsal: bool = False

    @property
    def counted(self) -> tuple[Walked, ...]:
        """Walks that count."""
        return tuple(walk for walk in self.walks if walk.counts)


@dataclass(frozen=True)
class Walker:
    """A row of walkers.csv. clo None: as the site says."""

    walker: str
    stature_m: float
    clo: float | None = None
    note: str = ""
