"""`[calibration]`: what walks on the finished site said of N50 and of the correlation. `fencecast walk fit` writes the table.

It holds the posterior itself, on a grid: 25 values of ln N50 by 4 correlations, and 25 weights for a place that nobody walked,
which has a shift of its own. `run` takes the mean over it, and its spread into every interval.
"""

from __future__ import annotations

import datetime
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

from fencecast.errors import show_value
from fencecast.site.fields import Text, YesNo, as_sequence
from fencecast.site.number import Check, Number, Refusal, Refused
from fencecast.site.schema import Table

if TYPE_CHECKING:
    from fencecast.site.reading import Draft

GRID = 25
CORRELATIONS = (0.0, 0.3, 0.6, 0.9)
SUM_TOLERANCE = 1e-6  # of weights that must add up to 1
STEP_TOLERANCE = 1e-3  # of a step of ln N50: numbers in a file are rounded
_MOST_LISTED = 40
WRITTEN_BY = "`fencecast walk fit` writes it"


def _numbers(value: object, allowed: str, example: str = "") -> tuple[float, ...]:
    """The finite numbers of a list, or Refused. A list that nobody types has no example."""
    rows = as_sequence(value)
    if rows is None or not all(isinstance(each, (int, float)) and not isinstance(each, bool) for each in rows):
        raise Refused(Refusal(_short(value), allowed, example))
    found = tuple(float(each) for each in rows)
    if not all(math.isfinite(each) for each in found):
        raise Refused(Refusal(_short(value), allowed, example))
    return found


def _short(value: object) -> object:
    """What a report shows of a long list."""
    rows = as_sequence(value)
    if rows is None or len(rows) <= 4:
        return value
    return f"{len(rows)} entries: {', '.join(f'{each:.4g}' if isinstance(each, float) else str(each) for each in rows[:3])}, ..."


@dataclass(frozen=True)
class LogGrid(Check):
    """25 values of ln N50, rising by equal steps."""

    def parse(self, value: object) -> tuple[float, ...]:
        allowed = f"{GRID} numbers that rise by equal steps, natural logarithms of cycles; {WRITTEN_BY}"
        found = _numbers(value, allowed)
        if len(found) != GRID:
            raise Refused(Refusal(_short(value), f"{allowed}; these are {len(found)}"))
        step = (found[-1] - found[0]) / (GRID - 1)
        even = step > 0.0 and all(abs(b - a - step) <= STEP_TOLERANCE * step for a, b in zip(found, found[1:]))
        if not even or abs(found[0]) > 10.0 or abs(found[-1]) > 10.0:
            raise Refused(Refusal(_short(value), allowed))
        return found


@dataclass(frozen=True)
class CorrelationGrid(Check):
    """The four correlations of the grid: always these."""

    def parse(self, value: object) -> tuple[float, ...]:
        example = show_value(list(CORRELATIONS))
        found = _numbers(value, f"exactly {example}", example)
        if len(found) != len(CORRELATIONS) or any(abs(a - b) > 1e-9 for a, b in zip(found, CORRELATIONS)):
            raise Refused(Refusal(_short(value), f"exactly {example}", example))
        return CORRELATIONS


@dataclass(frozen=True)
class Weights(Check):
    """25 weights of at least 0 that add up to 1; with `columns` 25 rows of so many weights that add up to 1 all together."""

    columns: int = 0

    def parse(self, value: object) -> tuple:
        what = f"{GRID} rows of {self.columns} weights" if self.columns else f"{GRID} weights"
        allowed = f"{what} of at least 0 that add up to 1 together; {WRITTEN_BY}"
        if not self.columns:
            rows = _numbers(value, allowed)
            _check_weights(value, rows, len(rows) == GRID, allowed)
            return rows
        listed = as_sequence(value)
        if listed is None:
            raise Refused(Refusal(value, allowed))
        table = tuple(_numbers(row, allowed) for row in listed)
        fits = len(table) == GRID and all(len(row) == self.columns for row in table)
        _check_weights(value, [each for row in table for each in row], fits, allowed)
        return table


def _check_weights(value: object, flat, fits: bool, allowed: str) -> None:
    if not fits or any(each < 0.0 for each in flat):
        raise Refused(Refusal(_short(value), allowed))
    total = math.fsum(flat)
    if abs(total - 1.0) > SUM_TOLERANCE:
        raise Refused(Refusal(_short(value), f"{allowed}; these add up to {total:.9g}"))


@dataclass(frozen=True)
class Listed(Check):
    """One line of text or a list of them, for people; stored as a tuple. Days may stand without quotes."""

    noun: str
    example: str
    longest: int = 120

    def parse(self, value: object) -> tuple[str, ...]:
        rows = [value] if isinstance(value, (str, datetime.date)) else as_sequence(value)
        allowed = f"{self.noun}: text in quotes, at most {self.longest} characters, or a list of up to {_MOST_LISTED} such texts"
        line = Text(self.noun, self.example, self.longest)
        try:
            if not rows or len(rows) > _MOST_LISTED:
                raise Refused
            found = tuple(line.parse(each.isoformat() if isinstance(each, datetime.date) else each) for each in rows)
        except Refused:
            raise Refused(Refusal(_short(value), allowed, f"[{show_value(self.example)}]")) from None
        return tuple(dict.fromkeys(found))


@dataclass(frozen=True)
class Spreads(Check):
    """Rising spreads of places' shifts of ln N50."""

    def parse(self, value: object) -> tuple[float, ...]:
        allowed = f"2 to {_MOST_LISTED} rising numbers from 0 to 2; {WRITTEN_BY}"
        example = "[0.0, 0.1, 0.2, 0.35, 0.5, 0.7]"
        found = _numbers(value, allowed, example)
        rising = all(a < b for a, b in zip(found, found[1:]))
        if not 2 <= len(found) <= _MOST_LISTED or not rising or found[0] < 0.0 or found[-1] > 2.0:
            raise Refused(Refusal(_short(value), allowed, example))
        return found


@dataclass(frozen=True)
class SpreadWeights(Check):
    """Weights of at least 0 that add up to 1, as many as there are spreads: see `check_calibration`."""

    def parse(self, value: object) -> tuple[float, ...]:
        allowed = f"2 to {_MOST_LISTED} weights of at least 0 that add up to 1 together; {WRITTEN_BY}"
        found = _numbers(value, allowed)
        _check_weights(value, found, 2 <= len(found) <= _MOST_LISTED, allowed)
        return found


_CYCLES = Number("a number of cycles", 2.6, above=0, at_most=100)
_CORRELATION = Number("a correlation", 0.3, at_least=0, at_most=0.9)
_COUNT = Number("a whole number", 36, at_least=1, at_most=100_000, whole=True)


class Calibration(Table):
    """`[calibration]`: what the values of [decision] rest on (text for people), and the posterior that `run` uses.

    weight[i][j] belongs to ln_cycles_50[i] and correlation[j]; weight_place[i] to ln_cycles_50[i] plus the shift of a place that
    nobody walked. weight_spread[k] belongs to place_spreads[k], the standard deviation of such shifts.
    """

    cycles_50_low: Annotated[float, _CYCLES]
    cycles_50_high: Annotated[float, _CYCLES]
    cycles_50_sd_ln: Annotated[float, Number("a spread", 0.12, at_least=0, at_most=5)]
    correlation_low: Annotated[float, _CORRELATION]
    correlation_high: Annotated[float, _CORRELATION]
    place_spread_ln: Annotated[float, Number("a spread", 0.15, at_least=0, at_most=5)]
    walks: Annotated[int, _COUNT]
    places: Annotated[int, _COUNT]
    walkers: Annotated[int, _COUNT]
    dates: Annotated[tuple[str, ...], Listed("days of the walks", "2026-11-29")]
    weather: Annotated[tuple[str, ...], Listed("weather of the walks", "clear night")]
    log_sha256: Annotated[tuple[str, ...], Listed("SHA-256 of the logs", "0f3c...")]
    prior: Annotated[str, Text("what was taken for granted before the walks", "N50 2.0, spread 0.5", longest=400)]
    rehearsal: Annotated[bool, YesNo()] = False
    ln_cycles_50: Annotated[tuple[float, ...], LogGrid()]
    correlation: Annotated[tuple[float, ...], CorrelationGrid()]
    weight: Annotated[tuple[tuple[float, ...], ...], Weights(columns=len(CORRELATIONS))]
    weight_place: Annotated[tuple[float, ...], Weights()]
    place_spreads: Annotated[tuple[float, ...], Spreads()] = ()
    weight_spread: Annotated[tuple[float, ...], SpreadWeights()] = ()
    only_from_above: Annotated[bool, YesNo()] = False
    only_from_below: Annotated[bool, YesNo()] = False
    correlation_hardly_known: Annotated[bool, YesNo()] = False

    @property
    def median_cycles_50(self) -> float:
        """Median of N50 by the weights, the middle of each value's share taken as its place [cycles]."""
        return math.exp(weighted_quantile(self.ln_cycles_50, [math.fsum(row) for row in self.weight], 0.5))

    @property
    def mean_correlation(self) -> float:
        """Mean of the correlation by the weights."""
        return math.fsum(r * math.fsum(row[j] for row in self.weight) for j, r in enumerate(self.correlation))


def weighted_quantile(values, weights, share: float) -> float:
    """The value below which `share` of the weights lies: rising values, linear between the middles of their weights."""
    at, below = [], 0.0
    kept = [(value, weight) for value, weight in zip(values, weights) if weight > 0.0]
    total = math.fsum(weight for _, weight in kept)
    for _, weight in kept:
        at.append((below + 0.5 * weight) / total)
        below += weight
    if share <= at[0]:
        return kept[0][0]
    for k in range(1, len(kept)):
        if share <= at[k]:
            part = (share - at[k - 1]) / (at[k] - at[k - 1])
            return kept[k - 1][0] + part * (kept[k][0] - kept[k - 1][0])
    return kept[-1][0]


def check_calibration(draft: Draft) -> None:
    """Ends that are the wrong way round, on whatever could be read."""
    entry = draft.single.get("calibration")
    if entry is None:
        return
    for low, high in (("cycles_50_low", "cycles_50_high"), ("correlation_low", "correlation_high")):
        ends = getattr(entry.table, low), getattr(entry.table, high)
        if entry.has(low, high) and ends[0] > ends[1]:
            draft.refuse(f"{entry.where} {low}", ends[0], f"at most {high} = {ends[1]!r}; {WRITTEN_BY}")
    spreads, weights = entry.table.place_spreads, entry.table.weight_spread
    if entry.has("place_spreads", "weight_spread") and len(spreads) != len(weights):
        draft.refuse(
            f"{entry.where} weight_spread", f"{len(weights)} weights",
            f"as many weights as place_spreads has numbers ({len(spreads)}), or neither key; {WRITTEN_BY}",
        )  # fmt: skip
