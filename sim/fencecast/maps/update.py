"""An older site file brought up to date with a drawing: comments, order and every key that was not drawn stay (tomlkit)."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from fencecast.errors import InputError, show_value
from fencecast.maps import defaults
from fencecast.maps.making import Making
from fencecast.maps.rows import MARK, Row, table_text

if TYPE_CHECKING:
    from fencecast.maps.asked import Asked
    from fencecast.site import Site

SAME_M = 0.001
SAME_DEG = 1e-6
_NAMED = {"perimeter": "name", "obstacle": "name", "camera": "mark", "mounting": "name", "land": "name"}


def updated_text(making: Making, old: Site, asked: Asked) -> tuple[str, list[str]]:
    """The new text, and what is in the file and was not drawn. InputError for a file that tomlkit would change."""
    import tomlkit

    text = old.text
    document = tomlkit.parse(text)
    if tomlkit.dumps(document) != text:
        raise InputError(
            ["tables of one kind are not together, and would be moved; put them together, or write a new file with -o alone"],
            str(asked.update),
        )
    added: dict[str, list[Row]] = {}
    for row in making.rows:
        table = _table_of(document, row)
        if table is None:
            added.setdefault(row.table, []).append(row)
        else:
            _change(making, table, row)
    changed = tomlkit.dumps(document)
    _add_parts(making, old, added)
    for name, rows in added.items():
        changed = _appended(changed, name, rows)
        making.report.checks += [(row.where, key, why) for row in rows for key, why in row.unsure.items()]
        making.report.changes += [(row.where, "", "", "new") for row in rows]
    if old.map is None and making.grid is not None:
        from fencecast.maps.fit import with_map

        changed = with_map(changed, making.grid)
        making.report.changes.append(("map", "", "", "new"))
    drawn = {(row.table, row.name) for row in making.rows}
    not_drawn = [
        f"{table} {each.mark if table == 'camera' else each.name}"
        for table in ("perimeter", "obstacle", "camera", "mounting")
        for each in getattr(old, table)
        if (table, each.mark if table == "camera" else each.name) not in drawn
    ]
    return changed, not_drawn


def _table_of(document: Any, row: Row) -> Any | None:
    """The table that a row stands for: by its name; a rule by its fence, or by where it lies."""
    tables = document.get(row.table, [])
    if row.table in _NAMED:
        return next((table for table in tables if table.get(_NAMED[row.table]) == row.name), None)
    if row.table != "rule":
        return None
    same = [table for table in tables if table.get("kind") == row.keys["kind"]]
    if "perimeter" in row.keys:
        near = [table for table in same if table.get("perimeter") == row.keys["perimeter"]]
        return next(
            (table for table in near if _same(table.get("offset_m", 0.0), row.keys.get("offset_m", 0.0), SAME_M)),
            next(iter(near), None),
        )
    return next((table for table in same if _same(table.get("points_m"), row.keys["points_m"], SAME_M)), None)


def _change(making: Making, table: Any, row: Row) -> None:
    """New values for keys that were drawn and differ; a comment behind the old value stays behind the new one."""
    import tomlkit

    new = _in_use(table, row)
    moved = "points_m" in new and not _same(table.get("points_m"), new["points_m"], SAME_M)
    if moved and table.get("gates") and "gates" not in new:
        making.note(f'"{row.name}" moved: its gates keep their metres along the fence')
    new |= _guessed_again(table, row, new)
    for key, value in new.items():
        close = SAME_DEG if key.endswith("_deg") else SAME_M
        if key in table and _same(_plain(table[key]), value, close):
            continue
        if key not in table and value == _default(row.table, key):
            continue
        item = tomlkit.item(_plain(value))
        making.report.changes.append((row.where, key, show_value(_plain(table[key])) if key in table else "", show_value(value)))
        if key in table:
            table[key] = item  # takes over the comment behind the old value
            if key in row.unsure:
                table[key].comment(f"{MARK}: {row.unsure[key]}")
        else:
            after = next(
                (name for name in ("aim_m", "depression_deg", "height_m", "position_m", "points_m", "name") if name in table),
                None,
            )
            insert_key(table, after, key, item)
    for key in row.drop:
        if key in table and any(other in table for other in ("aim_m", "bearing_deg") if other != key):
            making.report.changes.append((row.where, key, show_value(_plain(table[key])), "taken out"))
            del table[key]


def _guessed_again(table: Any, row: Row, new: Mapping[str, object]) -> dict[str, object]:
    """The aim of a camera that moved, when the file's own was a guess that nobody has looked at since."""
    if row.table != "camera" or "aim_m" not in row.unsure or "aim_m" not in table or MARK not in table["aim_m"].trivia.comment:
        return {}
    moved = "position_m" in new and not _same(_plain(table.get("position_m")), new["position_m"], SAME_M)
    return {"aim_m": row.keys["aim_m"]} if moved else {}


def insert_key(table: Any, after: str | None, key: str, item: Any) -> None:
    """A new key of a tomlkit table behind another, or at its end."""
    container = table.value
    if after is None:
        container.append(key, item)
    else:
        container._insert_after(after, key, item)
        dict.__setitem__(table, key, item)


def _in_use(table: Any, row: Row) -> dict[str, object]:
    """Drawn keys as far as they say something new: a direction that the file has in its other form is left alone."""
    new = row.drawn
    new.pop("name", None)
    new.pop("mark", None)
    if row.table == "camera" and "bearing_deg" in new and "aim_m" in table and _angles_agree(table, new):
        for key in ("bearing_deg", "depression_deg"):
            new.pop(key, None)
    if row.table == "rule":
        for key in ("kind", "perimeter"):
            new.pop(key, None)
        if "cameras" in new and "cameras" not in table:
            new.pop("cameras")
    if row.table == "perimeter" and new.get("closed") and table.get("closed"):
        points = _plain(table["points_m"])
        if points and _same(points[0], points[-1], SAME_M):
            new["points_m"] = [*new["points_m"], new["points_m"][0]]  # type: ignore[misc, index]
    return new


def _angles_agree(table: Any, new: Mapping[str, Any]) -> bool:
    from fencecast.site.fill import aim_angles_deg
    from fencecast.units import parse_length

    try:
        position, aim = ([_metres(v, parse_length) for v in _plain(table[key])] for key in ("position_m", "aim_m"))
        height = _metres(_plain(table["height_m"]), parse_length)
        bearing, depression = aim_angles_deg((position[0], position[1]), height, (aim[0], aim[1]))
    except (KeyError, ValueError):
        return False
    if not _same(position, new["position_m"], SAME_M):
        return False
    turn = abs((bearing - new["bearing_deg"] + 180.0) % 360.0 - 180.0)
    return turn < 1e-3 and abs(depression - new.get("depression_deg", depression)) < 1e-3


def _metres(value: object, parse: Any) -> float:
    return parse(value) if isinstance(value, str) else float(value)  # type: ignore[arg-type]


def _same(one: object, two: object, close: float) -> bool:
    """Equal values, numbers and points within `close`; text with a unit is the length that it spells."""
    from fencecast.units import parse_length

    if isinstance(one, str) and isinstance(two, (int, float)):
        try:
            one = parse_length(one)
        except ValueError:
            return False
    if isinstance(one, bool) or isinstance(two, bool) or isinstance(one, str) or isinstance(two, str):
        return one == two
    if isinstance(one, (int, float)) and isinstance(two, (int, float)):
        return abs(one - two) < close
    if isinstance(one, (list, tuple)) and isinstance(two, (list, tuple)):
        if one and two and all(isinstance(v, (int, float)) for v in (*one, *two)) and len(one) == len(two) == 2:
            return bool(np.hypot(one[0] - two[0], one[1] - two[1]) < close)
        return len(one) == len(two) and all(_same(a, b, close) for a, b in zip(one, two))
    if isinstance(one, Mapping) and isinstance(two, Mapping):
        return set(one) == set(two) and all(_same(one[k], two[k], close) for k in one)
    return one == two


def _plain(value: Any) -> Any:
    value = value.unwrap() if hasattr(value, "unwrap") else value
    return list(value) if isinstance(value, tuple) else value


def _default(table: str, key: str) -> object:
    from fencecast.site.reading import REPEATED

    field = REPEATED[table].model_fields.get(key)
    return field.default if field is not None else None


def _add_parts(making: Making, old: Site, added: dict[str, list[Row]]) -> None:
    """Tables for sensors and lenses that drawn cameras name and the file has not."""
    cameras = [row for row in making.rows if row.table == "camera"]
    for table, key in (("sensors", "sensor"), ("lenses", "lens")):
        known = getattr(old, table)
        for row in (r for r in cameras if r in added.get("camera", ())):
            if key in row.unsure and known and row.keys[key] not in known:
                row.keys[key] = next(iter(known))
        names = {str(row.keys[key]) for row in cameras if key in row.keys and key not in row.unsure} - set(known)
        rows = defaults.parts_rows(sorted(names), []) if table == "sensors" else defaults.parts_rows([], sorted(names))
        if rows:
            added[table] = rows


def _appended(text: str, name: str, rows: list[Row]) -> str:
    """New tables behind the last of their kind, before comment lines that head what follows; at the end when there is none."""
    lines = text.split("\n")
    kind = f"[{name}." if name in ("sensors", "lenses") else f"[[{name}]]"
    heads = [k for k, line in enumerate(lines) if line.startswith("[")]
    mine = [k for k in heads if lines[k].startswith(kind)]
    end = len(lines)
    if mine:
        end = next((k for k in heads if k > mine[-1]), len(lines))
        while end > mine[-1] + 1 and (not lines[end - 1].strip() or lines[end - 1].lstrip().startswith("#")):
            end -= 1
    new = "\n".join(table_text(row) for row in rows).rstrip("\n")
    head, tail = "\n".join(lines[:end]).rstrip("\n"), "\n".join(lines[end:])
    return f"{head}\n\n{new}\n{tail}" if tail.strip() else f"{head}\n\n{new}\n"


__all__ = ["MARK", "insert_key", "updated_text"]
