"""Walks that are alike for the model, put together: one place, gait, direction, walker and noted weather is one simulation.

Tests: tests/prove/fit/test_groups.py.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from fencecast.errors import InputError
from fencecast.prove.log.walked import Walked, Walker, WalkLog
from fencecast.prove.walks.planfile import WalkPlan


@dataclass(frozen=True, eq=False)
class Group:
    """Walks of one kind by one walker in one noted weather.

    stature_m, clo: the walker's, None as the site says. seen: int8 (walks, cameras of `marks`), 1 alarm, 0 none, -1 off, in the
    order of date and trial. kind: the plan's kind, None for a walk that it has not.
    """

    place: str
    section: str
    chainage_m: float
    gait: str
    direction: str
    walker: str
    stature_m: float | None
    clo: float | None
    weather: str
    conditions: tuple[tuple[str, float], ...]
    kind: str | None
    seen: NDArray[np.int8] = field(repr=False)
    trials: tuple[int, ...] = ()

    @property
    def patterns(self) -> tuple[NDArray[np.int8], NDArray[np.int64]]:
        """What was seen, each once, in one order whatever the order of walks; and how often."""
        rows, counts = np.unique(self.seen, axis=0, return_counts=True)
        return rows, counts


def group_walks(
    plan: WalkPlan, logs: Iterable[WalkLog] | Sequence[Walked], walkers: Mapping[str, Walker] | None
) -> tuple[Group, ...]:
    """The walks that count (neither void nor controls), in groups; the order of rows and of logs changes nothing.

    walkers None: statures as the site has them, whoever walked. InputError when no walk counts, with every walker who is missing.
    """
    walks = [walk for log in logs for walk in (log.walks if isinstance(log, WalkLog) else (log,)) if walk.counts]
    if not walks:
        raise InputError(["no walk counts: all are void or controls; a fit needs walks that count"], "logs")
    if walkers is not None:
        missing = sorted({walk.walker for walk in walks} - set(walkers))
        if missing:
            raise InputError([_no_walker(name, walks) for name in missing], "walkers")
    places = {place.place: place for place in plan.places}
    found: dict[tuple, list[Walked]] = {}
    for walk in walks:
        conditions = tuple(sorted(walk.conditions.items()))
        walker = walk.walker if walkers is not None else ""
        found.setdefault((walk.place, walk.gait, walk.direction, walker, walk.weather, conditions), []).append(walk)
    groups = []
    for (name, gait, direction, walker, weather, conditions), mine in sorted(found.items()):
        mine.sort(key=lambda walk: (walk.crossed, walk.trial))
        place, who = places[name], walkers[walker] if walkers is not None else None
        seen = np.array([walk.pattern(plan.marks) for walk in mine], dtype=np.int8).reshape(len(mine), len(plan.marks))
        groups.append(
            Group(
                name,
                place.section,
                place.chainage_m,
                gait,
                direction,
                walker,
                who.stature_m if who else None,
                who.clo if who else None,
                weather,
                conditions,
                mine[0].kind,
                seen,
                tuple(walk.trial for walk in mine),
            )  # fmt: skip
        )
    return tuple(groups)


def walker_shares(logs: Iterable[WalkLog]) -> dict[str, float]:
    """Share of the walks that count of each walker, sorted by name; "" for walks that name nobody."""
    found = Counter(walk.walker for log in logs for walk in log.counted)
    total = sum(found.values())
    return {name: found[name] / total for name in sorted(found)}


def effective_walkers(shares: Mapping[str, float]) -> float:
    """How many walkers who walk equally often would leave as much uncertain: 1 / sum of squared shares; 1 for none."""
    return 1.0 / sum(share**2 for share in shares.values()) if shares else 1.0


def people_apart(one: Mapping[str, float], other: Mapping[str, float]) -> float:
    """By how many walkers' variances two sets of walks differ in their mean: sum of squared differences of shares.

    0 for the same people in the same shares, 1/W + 1/V for W and V others who walk equally often. Walks that name nobody are by
    other people on each side.
    """
    names = sorted({*one, *other} - {""})
    known = sum((one.get(name, 0.0) - other.get(name, 0.0)) ** 2 for name in names)
    return known + one.get("", 0.0) ** 2 + other.get("", 0.0) ** 2


def _no_walker(name: str, walks: Sequence[Walked]) -> str:
    trials = [str(walk.trial) for walk in walks if walk.walker == name]
    who = f'walker "{name}" of' if name else "no walker is named in"
    shown = ", ".join(trials[:8]) + (", ..." if len(trials) > 8 else "")
    return (
        f"{who} trial{'s' if len(trials) > 1 else ''} {shown}: allowed: walkers of the file; add a row with the stature in "
        "metres (N50 goes with stature: a walker of 1.80 m taken for anybody is 7 % of N50)"
    )
