"""`[equal]` of a study file: what designs are equal in, and the prices that this needs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated

from fencecast.site.fields import OneOf
from fencecast.site.mounting import NumberList
from fencecast.site.number import Number
from fencecast.site.prices import half_priced
from fencecast.site.reading import Draft
from fencecast.site.schema import Table

_AMOUNTS = NumberList(Number("an amount", 5.0, above=0, at_most=1e9), "[5.0]")


class Equal(Table):
    """`[equal]`: what every layout may use; several amounts give cost-performance fronts; the first is judged."""

    by: Annotated[str, OneOf(("cameras", "cost"))]
    number: Annotated[tuple[float, ...] | None, _AMOUNTS] = None
    per_100_m: Annotated[tuple[float, ...] | None, _AMOUNTS] = None


def check_equal(draft: Draft, equal: Equal | None) -> None:
    """Either amount, and prices of all parts, or where cameras are equal of none: a part without one would be taken for free."""
    if equal is None:
        return
    if (equal.number is None) == (equal.per_100_m is None):
        allowed = "either number, for every yard, or per_100_m, for every 100 m of fence"
        draft.refuse("[equal]", {"by": equal.by}, allowed, "per_100_m = [5.0]", "needs one of two keys")
    kit = draft.single["kit"]
    if equal.by == "cameras":
        sensors, lenses = (_prices(draft, name, getattr(kit.table, name) if kit else None) for name in ("sensors", "lenses"))
        draft.problems += half_priced(sensors, lenses)
    parts = [*(draft.keyed["sensors"] or {}).values(), *(draft.keyed["lenses"] or {}).values()]
    unpriced = [entry.where for entry in parts if entry.has("price") and entry.table.price is None]
    if equal.by == "cost" and unpriced:
        draft.refuse(
            "[equal] by", "cost", f"a price for every sensor and lens; without one: {', '.join(unpriced)}", 'by = "cameras"'
        )


def _prices(draft: Draft, table: str, chosen: Sequence[str] | None) -> dict[str, float | None]:
    """Prices by name of the parts that the kit has; one that was refused is no missing one."""
    entries = {name: entry for name, entry in (draft.keyed[table] or {}).items() if entry.has("price")}
    return {name: entry.table.price for name, entry in entries.items() if not chosen or name in chosen}
