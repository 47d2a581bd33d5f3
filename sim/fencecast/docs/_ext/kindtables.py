"""Tables of the kinds of stimuli with their numbers and sources, made from `site.stimuluskinds`; read by `pagetables`."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Any

from publicpages import table

from fencecast.site import stimuluskinds
from fencecast.site.stimulusfields import BARRIERS
from fencecast.site.stimuluskinds import BODIES, BURSTS, BodyKind, BurstKind, Sourced

_NONE = "–"
_WAYS = {"cross": "through", "over": "over", "along": "along"}


def kind_numbers(row: BodyKind | BurstKind) -> list[tuple[str, Sourced]]:
    """The numbers of a kind in the order of its fields, by their names."""
    found = [(each.name, getattr(row, each.name)) for each in dataclasses.fields(row)]
    return [(name, value) for name, value in found if isinstance(value, Sourced)]


def number_text(value: Any) -> str:
    """A number, some that belong together, or ranges by quantity."""
    if isinstance(value, Mapping):
        return ", ".join(f"{key} {low:g} to {high:g}" for key, (low, high) in value.items())
    return " / ".join(f"{part:g}" for part in value) if isinstance(value, tuple) else f"{value:g}"


def _of(value: Sourced | None) -> str:
    return _NONE if value is None else number_text(value.value)


def _body_rate(row: BodyKind) -> str:
    if row.per_night_100m:
        return f"{row.per_night_100m.value:g} a night and 100 m"
    if row.density_km2 and row.km_per_night:
        return f"{row.density_km2.value:g} a km², {row.km_per_night.value:g} km"
    return "the user's"


def _when(row: BurstKind) -> str:
    parts = [number_text(row.active.value)] if row.active else []
    return "; ".join([*parts, *([] if row.law == "fixed" else [f"rate by {row.law}"])]) or "always"


def body_kinds() -> str:
    """The bodies, one row a kind."""
    head = (
        "kind | height / length / breadth, m | speed, m/s | coat, m² K/W | legs | rate | way | "
        f"through {' / '.join(BARRIERS)} | c | k"
    )
    rows = [
        (
            f"`{row.name}`",
            _of(row.size_m),
            _of(row.speed_m_s),
            _of(row.coat_m2k_w),
            _of(row.leg_m2k_w),
            _body_rate(row),
            _WAYS[row.way],
            _of(row.through),
            _of(row.confused),
            _of(row.bursts),
        )
        for row in BODIES
    ]
    return table(head, rows)


def burst_kinds() -> str:
    """The bursts, one row a kind."""
    head = "kind | a night | lasts, s | cycles | contrast, K | on a line | size | c | shape cycles | k | about when"
    rows = [
        (
            f"`{row.name}`",
            _of(row.per_night),
            _of(row.duration_s),
            _of(row.cycles),
            _of(row.contrast_k),
            _of(row.on_line_share),
            _of(row.relative_size),
            _of(row.confused),
            _of(row.shape_cycles),
            _of(row.bursts),
            _when(row),
        )
        for row in BURSTS
    ]
    return table(head, rows)


def shared_numbers() -> str:
    """Numbers that belong to no single kind."""
    rows = [
        (f"`{name}`", number_text(value.value), value.source)
        for name, value in vars(stimuluskinds).items()
        if isinstance(value, Sourced)
    ]
    return table("number | value | source", rows)


def kind_sources() -> str:
    """Where numbers come from that are more than judgement without a word: by kind and number."""
    rows = [
        (f"`{row.name}`", f"`{name}`", number_text(value.value), value.source)
        for row in (*BODIES, *BURSTS)
        for name, value in kind_numbers(row)
        if value.source != stimuluskinds.JUDGEMENT
    ]
    return table("kind | number | value | source", rows)
