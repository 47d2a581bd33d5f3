"""What a `[[variant]]` makes of the tables of a site file, and every reason why it cannot."""

from __future__ import annotations

from collections.abc import Mapping

from fencecast.errors import Problem, close_match, name_list, show_value
from fencecast.site.changes import Variant
from fencecast.site.reading import KEYED, SINGLE
from fencecast.site.schema import Table

# What variants share, or else there is nothing to compare: the same fence, in the same pieces, over the same hours.
_SHARED_KEYS = {
    "site": ("segment_length_m",),
    "perimeter": ("name", "points_m", "inside", "closed"),
    "camera": ("mark",),
    "obstacle": ("name",),
    "weather": ("name", "hours_per_year"),
}
_CHANGEABLE = (
    "site",
    "decision",
    "tolerance",
    "intruder",
    "sensors",
    "lenses",
    "perimeter",
    "obstacle",
    "camera",
    "rule",
    "weather",
)
# Two ways to say where a camera looks: giving one takes the place of the other.
_AIM, _ANGLES = "aim_m", ("bearing_deg", "depression_deg")


def changed_tables(raw: Mapping, variant: Variant) -> tuple[dict, list[Problem]]:
    """The top level of a site file (as read from TOML, or keyword arguments) with a variant's values, and all problems.

    The tables are copies and without `variant`. Cameras in `without` stay: a site may be left with rules that listen to nobody,
    which only the simulation knows how to treat; here they are only looked up.
    """
    where = f"variant {show_value(variant.name)}"
    tables = {key: value for key, value in raw.items() if key != "variant"}
    problems: list[Problem] = []
    for name, parts in variant.change.items():
        at = f"{where} change {name}"
        if name not in _CHANGEABLE:
            problems.append(_unknown(at, parts, name, _CHANGEABLE, "a table of the site file that variants may change"))
        elif name in SINGLE:
            table = _plain(tables.get(name, {}))
            tables[name] = _with(table, parts, name, at, problems)
        else:
            tables[name] = _named(tables, name, parts, at, problems)
    marks = [_name_of(camera, "camera", 0) for camera in tables.get("camera", ())]
    strangers = [mark for mark in variant.without if mark not in marks]
    problems += [_unknown(f"{where} without", mark, mark, marks, "marks of cameras in this site") for mark in strangers]
    if marks and set(marks) <= set(variant.without):
        problems.append(Problem(f"{where} without", list(variant.without), "at least one camera must stay"))
    return tables, problems


def _named(tables: dict, name: str, parts: Mapping, at: str, problems: list[Problem]):
    """[sensors.NAME] by name, [[camera]] by mark, [[rule]] by its number from 1, the rest by name."""
    if name in KEYED:
        entries = dict(tables.get(name, {}))
        places = {str(key): key for key in entries}
    else:
        entries = list(tables.get(name, ()))
        places = {_name_of(entry, name, number): number for number, entry in enumerate(entries)}
    for key, values in parts.items():
        if key not in places:
            what = "numbers of rules, from 1" if name == "rule" else f"names of [{name}.NAME]" if name in KEYED else f"[[{name}]]"
            problems.append(_unknown(f"{at} {key}", values, key, list(places), f"{what} in this site"))
        elif not isinstance(values, Mapping):
            allowed = "values by key"
            problems.append(Problem(f"{at} {key}", values, allowed, f"change.{name}.{key}.KEY = {show_value(values)}"))
        else:
            place = places[key]
            entries[place] = _with(_plain(entries[place]), values, name, f"{at} {key}", problems)
    return entries


def _with(table: dict, values: Mapping, name: str, at: str, problems: list[Problem]) -> dict:
    for key in values:
        if key in _SHARED_KEYS.get(name, ()):
            allowed = "not part of a variant: variants are compared on the same fence, cut and named alike, over the same hours"
            problems.append(Problem(f"{at} {key}", values[key], allowed))
    table = {**table, **values}
    if name == "camera" and _AIM in values:
        table = {key: value for key, value in table.items() if key not in _ANGLES or key in values}
    elif name == "camera" and set(_ANGLES) <= set(values):
        table.pop(_AIM, None)
    return table


def _plain(table: object) -> dict:
    """A table as typed, or what was given of one that was built in Python."""
    if isinstance(table, Table):
        return {key: getattr(table, key) for key in table.model_fields_set if getattr(table, key) is not None}
    return dict(table) if isinstance(table, Mapping) else {}


def _name_of(entry: object, name: str, number: int) -> str:
    if name == "rule":
        return str(number + 1)
    return str(_plain(entry).get("mark" if name == "camera" else "name"))


def _unknown(at: str, value: object, name: str, known, what: str) -> Problem:
    near = close_match(name, known)
    hint = f"did you mean {near}? " if near else ""
    return Problem(at, value, f"{hint}{what}: {name_list(known)}", fault="is not known")
