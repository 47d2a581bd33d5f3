"""What keys were called in files of schema 1: one report of what to type now, and hints where an old key stands in a new file."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from fencecast.errors import InputError, as_toml, show_value, toml_key
from fencecast.site.fields import as_sequence

OLD_SCHEMA = 1
# By table ("" is the top level): the old key and the new one; and old words that a key may hold.
KEYS: dict[str, dict[str, str]] = {
    "": {"zone": "mounting"},
    "camera": {"service": "depends_on"},
    "rule": {"window_s": "time_window_s"},
    "weather": {"window": "front_window"},
}
WORDS = {("rule", "kind", "field"): "area"}
_LABELS = {"camera": "mark", "rule": None, "weather": "name"}


def refuse_schema_1(raw: Mapping, file: str) -> None:
    """InputError for a file of schema 1, with every old key or word that it holds, its place and what to type now."""
    if raw.get("schema") != OLD_SCHEMA or isinstance(raw.get("schema"), bool):
        return
    new = OLD_SCHEMA + 1
    head = f"schema = {OLD_SCHEMA} is the format of earlier versions; this one reads {new}: type schema = {new}"
    raise InputError([head, *_found(raw)], file)


def new_name(table: str, key: str) -> str | None:
    """What a key of schema 1 is called now; table: "" for the top level, "camera", "rule" or "weather"."""
    return KEYS.get(table, {}).get(key)


def _found(raw: Mapping) -> Iterator[str]:
    for old, new in KEYS[""].items():
        if old in raw:
            tables = as_sequence(raw[old])
            count = len(tables) if tables is not None else 1
            yield f"[[{old}]], {count} table{'s' * (count > 1)}: type [[{new}]]"
    for table, label in _LABELS.items():
        for number, row in enumerate(as_sequence(raw.get(table)) or (), start=1):
            if isinstance(row, Mapping):
                name = row.get(label) if label else None
                yield from _of_table(
                    table, row, f"{table} {show_value(name) if isinstance(name, str) else f'number {number}'}", ""
                )
    for number, row in enumerate(as_sequence(raw.get("variant")) or (), start=1):
        changes = row.get("change") if isinstance(row, Mapping) else None
        if isinstance(changes, Mapping):
            name = row.get("name")
            where = f"variant {show_value(name) if isinstance(name, str) else f'number {number}'} change"
            yield from _of_changes(changes, where)


def _of_changes(changes: Mapping, where: str) -> Iterator[str]:
    for table, parts in changes.items():
        if table in _LABELS and isinstance(parts, Mapping):
            for name, values in parts.items():
                if isinstance(values, Mapping):
                    yield from _of_table(table, values, f"{where} {table} {name}", f"change.{table}.{toml_key(name)}.")


def _of_table(table: str, row: Mapping, where: str, before: str) -> Iterator[str]:
    for key, value in row.items():
        new = new_name(table, str(key))
        if new:
            yield f"{where} {key}: type {before}{new} = {_typed(value)}"
        word = WORDS.get((table, str(key), value)) if isinstance(value, str) else None
        if word:
            yield f"{where} {key} = {show_value(value)}: type {before}{key} = {show_value(word)}"


def _typed(value: object) -> str:
    return show_value(value) if len(as_toml(value)) < 60 else "... as before"
