"""A trade-off of settings as data: one row a setting, and which rows are worth a sentence."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fencecast.decide.tradeoff.dominated import LEAST_ALARMS, margin_m
from fencecast.estimate.results import Results
from fencecast.findings.words import listed

# A saving of alarms or a cost in metres below these is not worth a sentence (judgement).
LEAST_SAVED = 0.05
LEAST_COST_M = 1.0
LEAST_GAIN_M = 1.0
LEAST_RISE = 0.02  # of the Pd of the weakest tenth
NO_METRE_M = 0.5
ABOUT_AS_MUCH = 0.10  # of the base's alarms


@dataclass(frozen=True)
class TradeRow:
    """One setting; the site as it is comes first.

    family, value: as in the file; words: as it is written in a sentence. Metres at the requirement in every class with the range
    that intervals leave open, their change from the base with its paired interval; by_class: metres in each class. Alarms a
    night with their interval, the share more (or fewer, below 0) than in the base, and how many fewer (saved); NaN where no
    stimulus is named.
    dominated_by: the words of the setting that is better, "" when none is.
    """

    family: str
    value: str
    words: str
    meets_m: float
    low_m: float
    high_m: float
    change_m: float
    change_low_m: float
    change_high_m: float
    by_class: tuple[float, ...]
    weakest_tenth: float
    weakest: float
    alarms: float
    alarms_low: float
    alarms_high: float
    share: float
    share_low: float
    share_high: float
    saved: float
    bad_night: float
    noise_per_day: float
    dominated_by: str

    @property
    def takes_alarms(self) -> bool:
        """Surely fewer alarms than the base, and enough of them to be worth a sentence."""
        return self.share_high < 0.0 and self.share <= -LEAST_SAVED and self.saved >= LEAST_ALARMS

    @property
    def costs_metres(self) -> bool:
        """Surely fewer metres than the base, by enough to be worth a sentence."""
        return self.change_high_m < 0.0 and self.change_m <= -LEAST_COST_M

    @property
    def costs_no_metre(self) -> bool:
        """As many metres as the base, as estimated."""
        return self.change_m > -NO_METRE_M


def setting_words(family: str, *values: str) -> str:
    """`threshold 8`, `confirm 2 of 3 and 5 of 8`, `lines 1, 2 and 3 m inward`: settings of a family in a sentence."""
    if family == "confirm":
        return f"confirm {listed([value.replace('/', ' of ') for value in values])}"
    if family == "dwell":
        return f"dwell {listed(values)} s"
    if family == "offset":
        sides = {"inward": [v for v in values if not v.startswith("-")], "outward": [v[1:] for v in values if v.startswith("-")]}
        return listed([f"lines {listed(metres)} m {side}" for side, metres in sides.items() if metres])
    return f"{family} {listed(values)}".strip()


def trade_rows(results: Results) -> tuple[TradeRow, ...]:
    """The rows of a trade-off, the base first."""
    columns = {name: results[name].values for name in results.data.data_vars if results[name].dims == ("setting",)}
    words = [setting_words(*pair) for pair in zip(columns["family"].astype(str), columns["value"].astype(str))]
    by_label = dict(zip(results["setting"].values.astype(str), words))
    by_class = results.array("meets_class_m", "setting", "weather")
    names = ("meets_m", "meets_low_m", "meets_high_m", "change_m", "change_low_m", "change_high_m")
    more = ("weakest_tenth", "weakest", "nuisance_year", "nuisance_year_low", "nuisance_year_high", "nuisance_change",
            "nuisance_change_low", "nuisance_change_high")  # fmt: skip
    alarms = columns["nuisance_year"]
    return tuple(
        TradeRow(
            str(columns["family"][k]),
            str(columns["value"][k]),
            words[k],
            *(float(columns[name][k]) for name in names),
            tuple(float(metres) for metres in by_class[k]),
            *(float(columns[name][k]) for name in more),
            float(alarms[0] - alarms[k]),
            float(columns["bad_night_year"][k]),
            float(columns["noise_alarms_per_day"][k]),
            by_label.get(str(columns["dominated_by"][k]), ""),
        )
        for k in range(len(words))
    )


@dataclass(frozen=True)
class Trade:
    """What is worth saying of a trade-off.

    asked: whether nuisance alarms were counted. helps: the setting that takes most alarms away and costs no metre; seems: one
    that takes about as many away and costs metres; adds: the one that brings most metres; dominated: rows that lose on both
    sides; within: rows whose alarms are below the ceiling, by the upper end of their interval. None and () where there is none.
    """

    rows: tuple[TradeRow, ...]
    asked: bool
    fence_m: float
    requirement: float
    confidence: float
    helps: TradeRow | None
    seems: TradeRow | None
    adds: TradeRow | None
    dominated: tuple[TradeRow, ...]
    unreached_m: float
    out_of_view_m: float
    ceiling: float
    within: tuple[TradeRow, ...]
    left_out: tuple[str, ...]

    @property
    def margin_m(self) -> float:
        """Metres that are no matter [m]."""
        return margin_m(self.fence_m)

    @property
    def base(self) -> TradeRow:
        """The site as it is."""
        return self.rows[0]


def trade_of(results: Results) -> Trade:
    """The facts of a trade-off."""
    rows, attrs = trade_rows(results), results.attrs
    lengths = results.lengths_m
    helps = helping(rows)
    ceiling = float(attrs.get("nuisance_ceiling", math.nan))
    return Trade(
        rows=rows,
        asked=bool(int(attrs["nuisance_asked"])),
        fence_m=float(attrs["fence_m"]),
        requirement=results.requirement,
        confidence=results.confidence,
        helps=helps,
        seems=seeming(rows, helps),
        adds=max((row for row in rows[1:] if row.change_low_m > 0.0 and row.change_m >= LEAST_GAIN_M),
                 key=lambda row: row.change_m, default=None),
        dominated=tuple(row for row in rows[1:] if row.dominated_by),
        unreached_m=float(np.sum(results["unreached"].values * lengths)),
        out_of_view_m=float(np.sum(results["out_of_view"].values * lengths)),
        ceiling=ceiling,
        within=() if math.isnan(ceiling) else tuple(row for row in rows if row.alarms_high <= ceiling),
        left_out=tuple(line for line in str(attrs["left_out"]).split("\n") if line),
    )  # fmt: skip


def helping(rows: Sequence[TradeRow]) -> TradeRow | None:
    """The setting that takes the largest share of the alarms away and costs no metre; the first of equals."""
    free = [row for row in rows[1:] if row.takes_alarms and row.costs_no_metre]
    return min(free, key=lambda row: row.share, default=None)


def seeming(rows: Sequence[TradeRow], helps: TradeRow | None) -> TradeRow | None:
    """A setting that takes alarms away and costs metres: of those that save about as much as the helping one the cheapest, else
    the one nearest to it; without a helping one the cheapest by metres for each alarm."""
    costly = [row for row in rows[1:] if row.takes_alarms and row.costs_metres]
    if helps is None:
        return min(costly, key=lambda row: row.change_m / row.share, default=None)
    alike = [row for row in costly if abs(row.share - helps.share) <= ABOUT_AS_MUCH]
    if alike:
        return max(alike, key=lambda row: row.change_m)
    return min(costly, key=lambda row: abs(row.share - helps.share), default=None)
