"""Tables of a site file while they are being made: what each key holds, where it came from, what wants a look."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from fencecast.errors import InputError, as_toml, toml_key
from fencecast.maps.features import Feature

DECIMALS = 4  # a tenth of a millimetre
MARK = "check this"


@dataclass
class Row:
    """One table: `unsure` holds the keys that were not drawn, each with a word on why (or "")."""

    table: str
    name: str | None
    keys: dict[str, object]
    unsure: dict[str, str] = field(default_factory=dict)
    feature: Feature | None = None
    drop: tuple[str, ...] = ()  # keys of an older table that these replace

    @property
    def where(self) -> str:
        """How it is named in lists; a rule by its fence."""
        return f"{self.table} {self.name or self.keys.get('perimeter', '')}".strip()

    @property
    def drawn(self) -> dict[str, object]:
        """Keys that the drawing gave."""
        return {key: value for key, value in self.keys.items() if key not in self.unsure}


@dataclass
class Report:
    """What became of the drawings, as data. taken: (feature, table, name, by what it was recognised)."""

    taken: list[tuple[str, str, str, str]] = field(default_factory=list)
    left: list[tuple[str, str]] = field(default_factory=list)
    passed: dict[str, list[str]] = field(default_factory=dict)  # properties that were not taken, by feature
    notes: list[str] = field(default_factory=list)
    checks: list[tuple[str, str, str]] = field(default_factory=list)  # where, key, why
    wrong: list[tuple[tuple[str, int, int] | None, str]] = field(default_factory=list)
    changes: list[tuple[str, str, str, str]] = field(default_factory=list)  # thing, key, old, new, of an older file
    follows: set[tuple[str, int, int]] = field(default_factory=set)  # features whose only fault is that of another

    def refuse(self, name: str, leave_out: bool, fatal_only: bool = False) -> None:
        """InputError for what is wrong; with --leave-out, and before all is known, only for what belongs to no feature."""
        fatal = any(key is None for key, _ in self.wrong)
        if fatal or (self.wrong and not leave_out and not fatal_only):
            raise InputError(dict.fromkeys(words for _, words in self.wrong), name)


def number(value: float) -> float:
    """Metres as they are written: to 0.1 mm, and never -0.0."""
    return round(float(value), DECIMALS) + 0.0


def pairs(points: np.ndarray) -> list[list[float]]:
    """Points (n, 2) as lists of rounded numbers."""
    return [[number(x), number(y)] for x, y in points]


def table_text(row: Row) -> str:
    """The table as TOML, `# check this` behind what was not drawn."""
    heading = f"[{row.table}]" if row.table in ("site", "map", "requirement", "weather_file", "armed") else f"[[{row.table}]]"
    if row.table in ("sensors", "lenses"):
        heading = f"[{row.table}.{toml_key(row.name)}]"
    return "\n".join([heading, *(key_line(key, value, row.unsure) for key, value in row.keys.items())]) + "\n"


def key_line(key: str, value: object, unsure: Mapping[str, str]) -> str:
    """One line of a table."""
    line = f"{toml_key(key)} = {as_toml(value)}"
    if key not in unsure:
        return line
    return f"{line}  # {MARK}{': ' + unsure[key] if unsure[key] else ''}"
