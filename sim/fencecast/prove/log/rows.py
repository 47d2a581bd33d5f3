"""Rows of a log as walks, clock checks and alarms outside walks; what is wrong with a cell goes to the table's problems.

Tests: tests/prove/log/test_logread.py.
"""

from __future__ import annotations

import datetime
import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from fencecast.errors import close_match, name_list, show_value
from fencecast.meteorology.sorting import NAMES
from fencecast.prove.log.cells import (
    VOIDS,
    Wrong,
    date_order,
    decimals,
    read_date,
    read_heard,
    read_number,
    read_time,
)
from fencecast.prove.log.table import Row, Table
from fencecast.prove.walks.planfile import Kind, Trial, WalkPlan
from fencecast.site.schema import GAITS

# Least, most, unit, example of what may be noted.
NOTED = {
    "air_c": (-60.0, 60.0, "deg C", "5.5"),
    "humidity": (0.0, 1.0, "(a share, no percent)", "0.85"),
    "wind_m_s": (0.0, 100.0, "m/s", "1.5"),
    "visibility_m": (1.0, 1e6, "m", "20000"),
    "rain_mm_h": (0.0, 500.0, "mm/h", "0.5"),
    "ground_c": (-60.0, 90.0, "deg C", "3.0"),
}
NEEDED = ("trial", "place", "gait", "direction", "date", "crossed")
OPTIONAL = ("walker", "weather", *NOTED, "depth_m", "void", "note", "recorder")
DIRECTIONS = ("in", "out")
MOST_DEPTH_M = 500.0


@dataclass(frozen=True)
class Raw:
    """A row whose cells could be read. cells: what cameras did; a time is seconds of the recorder's day."""

    row: Row
    trial: int
    kind: str | None
    claim: str | None
    control: bool
    place: str
    gait: str
    direction: str
    weather: str
    crossed: datetime.datetime
    cells: Mapping[str, str | float]
    conditions: Mapping[str, float]
    depth_m: float | None
    void: str


class Rows:
    """Reads rows against a plan."""

    def __init__(self, table: Table, plan: WalkPlan):
        self.table, self.plan = table, plan
        self.order = date_order(row["date"] for row in table.rows)
        self.trials = {trial.trial: trial for trial in plan.trials}
        self.last = max(self.trials, default=0)
        self.kinds = {kind.kind: kind for kind in plan.kinds}
        self.by_way = {(kind.place, kind.gait, kind.direction): kind.kind for kind in plan.kinds}
        self.places = [place.place for place in plan.places]
        self.weathers = weather_names(plan)

    def moment(self, row: Row, column: str = "crossed") -> datetime.datetime | None:
        """Date and time of a row; None, with a problem, when one of them cannot be read."""
        date = self._cell(row, "date", read_date(row["date"], self.order))
        seconds = self._cell(row, column, read_time(row[column]))
        if date is None or seconds is None:
            return None
        return datetime.datetime.combine(date, datetime.time()) + datetime.timedelta(seconds=seconds)

    def heard(self, row: Row, empty: str | None = None) -> dict[str, str | float]:
        """What every camera did; a cell that cannot be read is a problem and left out. empty: what an empty cell means."""
        cells: dict[str, str | float] = {}
        for mark in self.plan.marks:
            heard = empty if empty is not None and not row[mark] else self._cell(row, mark, read_heard(row[mark]))
            if heard is not None:
                cells[mark] = heard
        return cells

    def is_empty(self, row: Row, number: int) -> bool:
        """A card that nobody walked: neither a crossing nor a void, and of cameras nothing but the template's no."""
        if row["crossed"] or row["void"]:
            return False
        typed = [mark for mark in self.plan.marks if row[mark]]
        if any(row[mark].casefold() != "no" for mark in typed):
            return False
        trial = self.trials.get(number)
        asked = self.kinds[trial.kind].pd_camera if trial else {}
        left = len(typed) < len(self.plan.marks) or (not asked and not row["date"])
        return not typed or (left and not any(mark in asked for mark in typed))

    def walk(self, row: Row, number: int) -> Raw | None:
        """A walk, or None when something in its row cannot be read."""
        before = len(self.table.problems)
        trial = self.trials.get(number)
        card = self.kinds[trial.kind] if trial else None
        place = self._name(row, "place", self.places, card)
        gait = self._name(row, "gait", GAITS, card)
        direction = self._name(row, "direction", DIRECTIONS, card)
        void = self._name(row, "void", VOIDS) if row["void"] else ""
        weather = self._name(row, "weather", self.weathers) if row["weather"] else self.plan.weather
        crossed = self.moment(row)
        cells = self.heard(row, "off" if void else None)
        conditions = {name: self._number(row, name, *limits) for name, limits in NOTED.items() if row[name]}
        depth = self._number(row, "depth_m", 0.0, MOST_DEPTH_M, "m", "1.5") if row["depth_m"] else None
        if trial is not None:
            self._as_on_card(row, trial, {"place": place, "gait": gait, "direction": direction})
            if not void and trial.claim:
                self._off_in_claim(row, trial, cells)
        elif number <= self.last:
            allowed = f"the number of a card of the plan, or for a walk beyond the cards {self.last + 1} and more"
            self.table.refuse(row, "trial", allowed, str(self.last + 1))
        if len(self.table.problems) > before or crossed is None or not (place and gait and direction and weather):
            return None
        kind = trial.kind if trial else self.by_way.get((place, gait, direction))
        control = trial.control if trial else self.plan.is_against(direction)
        claim = trial.claim if trial else None
        noted = {name: value for name, value in conditions.items() if value is not None}
        return Raw(
            row, number, kind, claim, control, place, gait, direction, weather, crossed, cells, noted, depth, void or ""
        )  # fmt: skip

    def _cell(self, row: Row, column: str, read):
        if isinstance(read, Wrong):
            self.table.refuse(row, column, read.allowed, read.instead)
            return None
        return read

    def _number(self, row: Row, column: str, low: float, high: float, unit: str, instead: str) -> float | None:
        return self._cell(row, column, read_number(row[column], low, high, unit, instead))

    def _name(self, row: Row, column: str, known: Iterable[str], card: Kind | None = None) -> str | None:
        """One of the known names; capital letters and blanks are forgiven, and `_` for a blank, where that leaves one name."""
        known = list(known)
        cell = row[column]
        if cell in known:
            return cell
        near = [name for name in known if _plain(name) == _plain(cell)]
        if len(near) == 1:
            return near[0]
        close = close_match(cell, known) if cell and card is None else None
        hint = f"did you mean {show_value(close)}? " if close else ""
        self.table.refuse(
            row, column, f"{hint}one of {name_list(known)}", str(getattr(card, column)) if card else close or known[0]
        )
        return None

    def _as_on_card(self, row: Row, trial: Trial, walked: Mapping[str, str | None]) -> None:
        kind = self.kinds[trial.kind]
        for column, value in walked.items():
            card = getattr(kind, column)
            if value is not None and value != card:
                allowed = f"card {trial.trial} says {show_value(card)}; number it past the last card if it was walked so"
                self.table.refuse(row, column, allowed, f"{self.last + 1} for trial", "is not what the card says")

    def _off_in_claim(self, row: Row, trial: Trial, cells: Mapping[str, str | float]) -> None:
        for mark in self.kinds[trial.kind].pd_camera:
            if cells.get(mark) == "off":
                allowed = f"claim {trial.claim} counts on this camera; walk it again beyond the cards, and this one is void"
                self.table.refuse(row, mark, allowed, "recorder off for void")


def weather_names(plan: WalkPlan) -> list[str]:
    """Names of the site's weather classes, the plan's own first."""
    try:
        whole = tomllib.loads(plan.site_toml)
    except tomllib.TOMLDecodeError:
        whole = {}
    if "weather_file" in whole:  # the classes are those that hours of a record are sorted into
        return list(dict.fromkeys((plan.weather, *NAMES)))
    tables = whole.get("weather", [])
    named = (
        [str(table["name"]) for table in tables if isinstance(table, dict) and "name" in table]
        if isinstance(tables, list)
        else []
    )
    return list(dict.fromkeys((plan.weather, *named)))


def unit_of(raws: Iterable[Raw], marks: Iterable[str]) -> float:
    """The unit [s] to which times of a log are read: the coarser of crossings and alarms; 60 when all fall on whole minutes."""
    raws, marks = list(raws), list(marks)
    if raws and all(raw.crossed.second == 0 and raw.crossed.microsecond == 0 for raw in raws):
        return 60.0
    crossings = max((decimals(raw.row["crossed"]) for raw in raws), default=0)
    alarms = [decimals(raw.row[mark]) for raw in raws for mark in marks if isinstance(raw.cells.get(mark), float)]
    return 10.0 ** -min(crossings, max(alarms, default=crossings))


def _plain(name: str) -> str:
    return re.sub(r"[\s_-]+", " ", name).strip().casefold()
