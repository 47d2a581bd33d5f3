"""From what was typed to tables: every key by itself, so that one mistake hides no other.

A key that is refused becomes a problem and None in its table; later checks skip what is None.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from fencecast.errors import Problem, close_match, show_value, toml_key
from fencecast.site.built import Built
from fencecast.site.calibration import Calibration
from fencecast.site.changes import Variant
from fencecast.site.fields import as_sequence
from fencecast.site.formerly import new_name
from fencecast.site.hourly import Armed, WeatherFile
from fencecast.site.mounting import Kit, Mounting
from fencecast.site.number import Check, Refused
from fencecast.site.placing import MapPlace, Picture
from fencecast.site.prices import PricedItem, Prices
from fencecast.site.review import Accept, Land, Limits
from fencecast.site.schema import (
    Camera,
    Decision,
    FrontWindow,
    Gate,
    Ground,
    Intruder,
    Lens,
    Obstacle,
    Perimeter,
    Requirement,
    Rule,
    Sensor,
    Table,
    Tolerance,
    Weather,
    check_of,
)
from fencecast.site.stimulustables import Nuisance, Soak, Stimulus

# The tables of a file: [NAME], [NAME.KEY] and [[NAME]].
SINGLE: dict[str, type[Table]] = {
    "requirement": Requirement,
    "site": Ground,
    "decision": Decision,
    "tolerance": Tolerance,
    "intruder": Intruder,
}
SINGLE |= {"kit": Kit, "weather_file": WeatherFile, "armed": Armed}
SINGLE |= {"check": Limits}
SINGLE |= {"map": MapPlace, "picture": Picture}
SINGLE |= {"prices": Prices, "nuisance": Nuisance}
SINGLE |= {"built": Built}
SINGLE |= {"calibration": Calibration}
KEYED: dict[str, type[Table]] = {"sensors": Sensor, "lenses": Lens}
REPEATED: dict[str, type[Table]] = {
    "perimeter": Perimeter,
    "obstacle": Obstacle,
    "camera": Camera,
    "rule": Rule,
    "weather": Weather,
}
REPEATED |= {"mounting": Mounting, "variant": Variant}
REPEATED |= {"accept": Accept, "land": Land}
REPEATED |= {"item": PricedItem, "stimulus": Stimulus, "soak": Soak}
# A table that is not there means something else than one with nothing in it.
_OPTIONAL = ("weather_file", "check", "map", "picture", "prices", "calibration", "built")
_NAMED_BY = {"camera": "mark", "rule": None, "accept": None, "soak": "cause", "stimulus": ("name", "kind")}
_NEEDED = {
    "site": 'a table [site] with ground = "gravel" or another ground',
    "perimeter": "one or more tables [[perimeter]]",
    "sensors": "one or more tables [sensors.NAME]",
    "lenses": "one or more tables [lenses.NAME]",
    "camera": "one or more tables [[camera]]",
    "rule": "one or more tables [[rule]]",
    "weather": "one or more tables [[weather]]",
}


@dataclass
class Entry:
    """One table as far as it could be read: `where` is how problems name it, `table` has None where a key was refused."""

    where: str
    table: Table
    given: frozenset[str]
    refused: frozenset[str]

    @property
    def name(self) -> str | None:
        return getattr(self.table, "mark", None) or getattr(self.table, "name", None)

    def has(self, *keys: str) -> bool:
        """Whether all of these keys hold something that was accepted (or a default)."""
        return not self.refused.intersection(keys)


@dataclass
class Draft:
    """A site while it is being checked."""

    problems: list[Problem] = field(default_factory=list)
    top: dict = field(default_factory=dict)
    single: dict[str, Entry] = field(default_factory=dict)
    keyed: dict[str, dict[str, Entry]] = field(default_factory=dict)
    repeated: dict[str, list[Entry]] = field(default_factory=dict)
    # Names of [sensors.NAME] and the like as typed, whether their tables could be read or not.
    typed_names: dict[str, list[str]] = field(default_factory=dict)
    # Known keys of the top level that a misspelt one probably means: they are not reported as missing as well.
    meant: set[str | None] = field(default_factory=set)
    rows: dict[str, int] = field(default_factory=dict)

    def names(self, table: str) -> tuple[list[str], bool]:
        """The names of a kind of table, and whether every one is known: if not, an unknown name may be right."""
        if table in KEYED:
            return self.typed_names.get(table, []), table in self.typed_names and table not in self.meant
        entries = self.repeated[table]
        names = list(dict.fromkeys(entry.name for entry in entries if entry.name is not None))
        all_read = len(entries) == self.rows.get(table) and all(entry.name is not None for entry in entries)
        return names, all_read and table not in self.meant

    def refuse(self, key: str, value: object, allowed: str, instead: str = "", fault: str = "is not allowed") -> None:
        self.problems.append(Problem(key, value, allowed, instead, fault))


def read_tables(raw: Mapping, draft: Draft, top_checks: Mapping, needed_top: tuple[str, ...]) -> None:
    """Reads the whole of a file (or of keyword arguments) into `draft`."""
    known = [*top_checks, *SINGLE, *KEYED, *REPEATED]
    for key, value in raw.items():
        if key not in known:
            draft.meant.add(_unknown(draft, "", str(key), value, known))
    for key, (check, default) in top_checks.items():
        draft.top[key] = _one_key(draft, "", key, check, raw, default, key in needed_top and key not in draft.meant)
    for name, cls in SINGLE.items():
        draft.single[name] = _single(draft, name, cls, raw)
    for name, cls in KEYED.items():
        draft.keyed[name] = _keyed(draft, name, cls, raw)
    for name, cls in REPEATED.items():
        draft.repeated[name] = _repeated(draft, name, cls, raw)


def _unknown(draft: Draft, where: str, key: str, value: object, known) -> str | None:
    """Reports a key that does not exist; returns the one that was probably meant: what it was called before, or the nearest."""
    near = new_name(where.split(" ")[0], key) or close_match(key, known)
    allowed = f"did you mean {near}?" if near else f"known here: {', '.join(known)}"
    draft.refuse(f"{where} {toml_key(key)}".strip(), value, allowed, fault="is not a known key")
    return near


def _one_key(draft, where, key, check, raw, default, needed):
    path = f"{where} {key}".strip()
    if key not in raw:
        if needed:
            example = example_of(check)
            draft.refuse(path, Problem.MISSING, allowed_words(check), f"{key} = {example}" if example else "")
            return None
        return dict(default) if isinstance(default, dict) else default
    try:
        return check.parse(raw[key])
    except Refused as refused:
        for r in refused.refusals:
            instead = f"{r.key or key} = {r.instead}" if r.instead else ""
            draft.refuse(" ".join((path, *r.path)), r.value, r.allowed, instead, r.fault)
        return None


def example_of(check: Check) -> str:
    """What could be typed, empty where nobody types it: found by giving the check something that it must refuse."""
    try:
        check.parse(None)
    except Refused as refused:
        return refused.refusals[0].instead
    raise AssertionError("a check took None")


def allowed_words(check: Check) -> str:
    """What may stand there, in words, found in the same way."""
    try:
        check.parse(None)
    except Refused as refused:
        return refused.refusals[0].allowed
    raise AssertionError("a check took None")


def read_table(draft: Draft, cls: type[Table], raw: object, where: str, brackets: str) -> Entry | None:
    """One table; None when it is no table at all."""
    if isinstance(raw, cls):
        raw = {key: getattr(raw, key) for key in raw.model_fields_set if getattr(raw, key) is not None}
    if not isinstance(raw, Mapping):
        draft.refuse(where, raw, f"a table {brackets} with the keys {', '.join(cls.model_fields)}")
        return None
    strangers = [key for key in raw if key not in cls.model_fields]
    # A needed key that was misspelt is one problem, not two.
    meant = {_unknown(draft, where, str(key), raw[key], list(cls.model_fields)) for key in strangers}
    values, refused = {}, set()
    for key, info in cls.model_fields.items():
        before = len(draft.problems)
        if key == "gates":
            values[key] = _gates(draft, raw.get(key, ()), where)
        elif key == "front_window":
            entry = read_table(draft, FrontWindow, raw.get(key, {}), f"{where} front_window", "{ state, share, film_um }")
            values[key] = entry and entry.table
        else:
            values[key] = _one_key(
                draft, where, key, check_of(cls, key), raw, info.default, info.is_required() and key not in meant
            )
        if len(draft.problems) > before or (key in meant and key not in raw):
            values[key] = None
            refused.add(key)
    given = frozenset(key for key in cls.model_fields if key in raw or key in meant)
    return Entry(where, cls.model_construct(_fields_set=set(given), **values), given, frozenset(refused))


def _gates(draft: Draft, raw: object, where: str) -> tuple[Gate, ...]:
    rows = as_sequence(raw)
    if rows is None:
        example = '[{ name = "main gate", from_m = 10.0, to_m = 16.0 }]'
        draft.refuse(f"{where} gates", raw, "a list of tables { name, from_m, to_m }", f"gates = {example}")
        return ()
    entries = [
        read_table(draft, Gate, row, f"{where} gate {_label(row, 'name', number)}", "{ name, from_m, to_m }")
        for number, row in enumerate(rows, start=1)
    ]
    return tuple(entry.table for entry in entries if entry and not entry.refused)


def _label(row: object, keys: str | tuple[str, ...] | None, number: int, taken: set | None = None) -> str:
    """How problems name an entry: by its name in quotes (the first key that it has), or by its place in the file."""
    name = None
    for key in (keys,) if isinstance(keys, str) else keys or ():
        name = name or (row.get(key) if isinstance(row, Mapping) else getattr(row, key, None))
    if isinstance(name, str) and name and (taken is None or name not in taken):
        if taken is not None:
            taken.add(name)
        return show_value(name)
    return f"number {number}"


def _needed(draft: Draft, name: str, brackets: str) -> None:
    if name not in draft.meant:
        draft.refuse(brackets, Problem.MISSING, _NEEDED[name])


def _single(draft: Draft, name: str, cls: type[Table], raw: Mapping) -> Entry | None:
    if name not in raw and name in _NEEDED:
        _needed(draft, name, f"[{name}]")
        return None
    if raw.get(name) is None and name in _OPTIONAL:  # None is how a site without such a table holds it
        return None
    value = raw.get(name, {})
    if isinstance(value, list):
        draft.refuse(f"[[{name}]]", value, f"one table, written [{name}] with single brackets")
        return None
    return read_table(draft, cls, value, f"[{name}]", f"[{name}]")


def _keyed(draft: Draft, name: str, cls: type[Table], raw: Mapping) -> dict[str, Entry]:
    tables = raw.get(name, {})
    if not isinstance(tables, Mapping):
        draft.refuse(name, tables, f"tables [{name}.NAME], each with a name of your choice")
        return {}
    draft.typed_names[name] = [str(key) for key in tables]
    if not tables:
        _needed(draft, name, f"[{name}.NAME]")
    entries = {}
    for key, value in tables.items():
        brackets = f"[{name}.{toml_key(key)}]"
        entry = read_table(draft, cls, value, brackets, brackets)
        if entry:
            entries[str(key)] = entry
    return entries


def _repeated(draft: Draft, name: str, cls: type[Table], raw: Mapping) -> list[Entry]:
    rows = as_sequence(raw.get(name, ()))
    if isinstance(raw.get(name), Mapping) or rows is None:
        draft.refuse(f"[{name}]", raw[name], f"{_NEEDED.get(name, f'tables [[{name}]]')}, written with double brackets")
        return []
    # Mountings ask for cameras to be proposed; a record makes its own weather classes.
    instead = {"camera": "mounting", "weather": "weather_file"}.get(name)
    replaced = instead is not None and (bool(raw.get(instead)) or instead in draft.meant)
    if not rows and name in _NEEDED and not replaced:
        _needed(draft, name, f"[[{name}]]")
    draft.rows[name] = len(rows)
    taken: set[str] = set()
    entries = []
    for number, row in enumerate(rows, start=1):
        label = _label(row, _NAMED_BY.get(name, "name"), number, taken)
        entry = read_table(draft, cls, row, f"{name} {label}", f"[[{name}]]")
        if entry:
            entries.append(entry)
    return entries
