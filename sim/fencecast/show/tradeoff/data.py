"""What the picture of a trade-off draws: every setting on both sides, family by family."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import xarray as xr

from fencecast.errors import UsageError
from fencecast.estimate.results import AnyResults, Results
from fencecast.findings.tradefacts import TradeRow, trade_of
from fencecast.findings.tradewords import trade_subtitle, trade_titles

__all__ = ["TradeFamily", "TradePoint", "TradeoffData", "tradeoff_data"]


@dataclass(frozen=True)
class TradePoint:
    """One setting: its value as a label, alarms a night and metres with the ends of their paired intervals against the base, Pd
    of the weakest tenth, and whether it is dominated."""

    label: str
    alarms: float
    alarms_low: float
    alarms_high: float
    meets_m: float
    low_m: float
    high_m: float
    weakest_tenth: float
    dominated: bool
    is_base: bool


@dataclass(frozen=True)
class TradeFamily:
    """A key with its points from low to high; the base among them at its own value, or last where it has no single one."""

    name: str
    points: tuple[TradePoint, ...]


@dataclass(frozen=True)
class TradeoffData:
    """What `plot_tradeoff` draws. titles: the fullest first; unreached_m: metres of the fence that no setting brings to the
    requirement; ceiling: alarms a night, NaN without one."""

    titles: tuple[str, ...]
    subtitle: str
    base: TradePoint
    families: tuple[TradeFamily, ...]
    fence_m: float
    unreached_m: float
    requirement: float
    ceiling: float
    attrs: Mapping[str, Any]


def tradeoff_data(results: xr.Dataset | AnyResults) -> TradeoffData:
    """Both sides of every setting. UsageError for results of another command, or without nuisance alarms: no trade then."""
    if "tradeoff_schema" not in results.attrs:
        raise UsageError("these are no results of a trade-off; give what fc.tradeoff(...) returns")
    found = Results.of(results)
    trade = trade_of(found)
    if not trade.asked:
        raise UsageError(
            "there is no trade to draw: the site has no [[stimulus]] table, so alarms a night are not known; add one and run "
            "fencecast tradeoff again"
        )
    points = [_point(row, trade.base) for row in trade.rows]
    own = [str(value) for value in found["base_value"].values]
    names = dict.fromkeys(row.family for row in trade.rows[1:])
    families = []
    for name in names:
        members = [k for k, row in enumerate(trade.rows) if k and row.family == name]
        base_at = _order(own[members[0]])
        before = [k for k in members if base_at is not None and _order(trade.rows[k].value) < base_at]
        after = [k for k in members if k not in before]
        line = [points[k] for k in (*before, 0, *after)] if base_at is not None else [points[k] for k in (*members, 0)]
        families.append(TradeFamily(name, tuple(line)))
    return TradeoffData(
        titles=tuple(trade_titles(trade)),
        subtitle=trade_subtitle(trade),
        base=points[0],
        families=tuple(families),
        fence_m=trade.fence_m,
        unreached_m=trade.unreached_m,
        requirement=trade.requirement,
        ceiling=trade.ceiling,
        attrs=found.attrs,
    )


def _point(row: TradeRow, base: TradeRow) -> TradePoint:
    same = row is base
    ends = [base.alarms * (1.0 + share) for share in (row.share_low, row.share_high)]
    return TradePoint(
        label="" if same else _label(row),
        alarms=row.alarms,
        alarms_low=row.alarms if same or math.isnan(ends[0]) else ends[0],
        alarms_high=row.alarms if same or not math.isfinite(ends[1]) else ends[1],
        meets_m=row.meets_m,
        low_m=row.meets_m if same else base.meets_m + row.change_low_m,
        high_m=row.meets_m if same else base.meets_m + row.change_high_m,
        weakest_tenth=row.weakest_tenth,
        dominated=bool(row.dominated_by),
        is_base=same,
    )


def _label(row: TradeRow) -> str:
    """`8`, `5 of 8`, `+1 m`, `2 s`."""
    if row.family == "offset":
        return f"{'−' if row.value.startswith('-') else '+'}{row.value.lstrip('-')} m"
    return {"confirm": row.value.replace("/", " of "), "dwell": f"{row.value} s"}.get(row.family, row.value)


def _order(value: str) -> tuple[float, ...] | None:
    """Where a value stands in its family; None for no value."""
    return tuple(float(part) for part in value.split("/")) if value else None
