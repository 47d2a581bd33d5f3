"""The site as one object, and how it is loaded."""

from __future__ import annotations

import hashlib
import re
import shlex
import tomllib
from collections.abc import Mapping
from dataclasses import replace
from os import PathLike
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, PrivateAttr

from fencecast.errors import InputError, UnknownNameError, UsageError, show_value
from fencecast.site.built import Built
from fencecast.site.calibration import Calibration
from fencecast.site.changes import Variant
from fencecast.site.checks import check_tables
from fencecast.site.fields import OneOf, Text
from fencecast.site.filesbeside import files_in
from fencecast.site.fill import fill_defaults
from fencecast.site.formerly import refuse_schema_1
from fencecast.site.hourly import Armed, WeatherFile
from fencecast.site.mounting import Kit, Mounting
from fencecast.site.number import Number
from fencecast.site.placing import MapPlace, Picture
from fencecast.site.prices import PricedItem, Prices
from fencecast.site.reading import KEYED, REPEATED, SINGLE, Draft, read_tables
from fencecast.site.review import Accept, Land, Limits
from fencecast.site.schema import (
    Camera,
    Decision,
    Ground,
    Intruder,
    Lens,
    Obstacle,
    Perimeter,
    Requirement,
    Rule,
    Sensor,
    Tolerance,
    Weather,
)
from fencecast.site.stimulustables import Nuisance, Soak, Stimulus
from fencecast.site.variants import changed_tables
from fencecast.site.write import site_to_toml

SCHEMA = 2
TITLE_LENGTH = 200
TOP = {
    "schema": (
        Number("the format that this version of fencecast reads", SCHEMA, at_least=SCHEMA, at_most=SCHEMA, whole=True),
        SCHEMA,
    ),
    "title": (Text("a title", "North yard", longest=TITLE_LENGTH), None),
    "seed": (Number("a whole number", 7, at_least=0, at_most=2**63 - 1, whole=True), 0),
    "units": (OneOf(("si", "us")), "si"),
}
# What a study's file has and a site's has not.
STUDY_KEYS = ("strategies", "equal", "yards")


class Site(BaseModel):
    """What the user describes: read-only, checked, with the names of the site file.

    `load_site` and `parse_site` make one from a file or a text; keyword arguments do the same in Python
    (`Site(title=..., camera=[{"mark": "C1", ...}], ...)`), with the same checks and the same report (`InputError`).
    `sensors` and `lenses` are dictionaries by name; `perimeter`, `obstacle`, `camera`, `rule`, `weather`, `variant` are tuples.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)

    schema_version: int = Field(alias="schema")
    title: str
    seed: int
    units: str
    requirement: Requirement
    site: Ground
    perimeter: tuple[Perimeter, ...]
    obstacle: tuple[Obstacle, ...]
    sensors: dict[str, Sensor]
    lenses: dict[str, Lens]
    camera: tuple[Camera, ...]
    rule: tuple[Rule, ...]
    decision: Decision
    tolerance: Tolerance
    intruder: Intruder
    weather: tuple[Weather, ...]
    weather_file: WeatherFile | None
    armed: Armed
    mounting: tuple[Mounting, ...]
    variant: tuple[Variant, ...]
    kit: Kit
    check: Limits | None
    accept: tuple[Accept, ...]
    land: tuple[Land, ...]
    map: MapPlace | None
    picture: Picture | None
    prices: Prices | None
    calibration: Calibration | None
    item: tuple[PricedItem, ...]
    nuisance: Nuisance
    stimulus: tuple[Stimulus, ...]
    soak: tuple[Soak, ...]
    built: Built | None
    _text: str = PrivateAttr(default="")
    _sha256: str = PrivateAttr(default="")
    _folder: Path | None = PrivateAttr(default=None)
    _counted_as: Site | None = PrivateAttr(default=None)  # see `without.counted_site`

    def __init__(self, /, **keys: Any):
        super().__init__(**_checked(keys, "the site", needed=("title",)))

    @property
    def text(self) -> str:
        """The full text of the file; for a site built in Python, the text that gives the same site."""
        return self._text or site_to_toml(self)

    @property
    def sha256(self) -> str:
        """SHA-256 of the file as it stands on the disk, hexadecimal; of `text` in UTF-8 when there is no file."""
        return self._sha256 or hashlib.sha256(self.text.encode()).hexdigest()

    @property
    def folder(self) -> Path | None:
        """The folder of the file that the site was loaded from, where its weather file is looked for; None without a file."""
        return self._folder

    @property
    def weather_path(self) -> Path | None:
        """Where the weather file lies: a path that is not absolute starts at the site file's folder. None without such a file."""
        return None if self.weather_file is None else (self.folder or Path()) / self.weather_file.path

    def replace(self, **changes: Any) -> Site:
        """The site with other values of its keys (`title=...`, `camera=[...]`), checked as a whole as a file would be.

        A table is given as a table, a dictionary or a list of them; None takes an optional one away. Text and hash are made anew;
        the folder stays, so that a weather file is found. InputError holds every problem.
        """
        names = [name for name in type(self).model_fields if name != "schema_version"]
        for name in changes:
            if name not in names:
                raise UnknownNameError("key", name, names)
        given = {name: getattr(self, name) for name in names} | changes
        made = type(self)(**{name: value for name, value in given.items() if value is not None})
        made._folder = self._folder
        return made

    def model_copy(self, *, update: Mapping[str, Any] | None = None, deep: bool = False) -> Site:
        """As pydantic's, but never past the checks: with `update` the same as `replace`."""
        return self.replace(**update) if update else super().model_copy(deep=deep)

    def varied(self, table: Variant) -> Site:
        """The site with the changes of one of its `[[variant]]` tables; the cameras that it takes away are still there."""
        changed, problems = changed_tables(tomllib.loads(self.text), table)
        if problems:
            raise AssertionError(f"a variant that was accepted before: {problems}")
        made = type(self)(**changed)
        made._folder = self._folder
        return made

    def _with_rules(self, rules: tuple[Rule, ...], text: str, sha256: str) -> Site:
        """For `without`: rules that no camera serves, which only the simulation knows how to treat, and the text to keep."""
        made = super().model_copy(update={"rule": rules})
        made._text, made._sha256 = text, sha256
        return made

    def __eq__(self, other: object) -> bool:
        """Equal when all tables are, whatever text they came from."""
        if not isinstance(other, Site):
            return NotImplemented
        return all(getattr(self, name) == getattr(other, name) for name in type(self).model_fields)

    __hash__ = None  # type: ignore[assignment]


def _checked(raw: dict, file: str, needed: tuple[str, ...]) -> dict:
    """The tables, complete and consistent; InputError with every problem otherwise."""
    refuse_schema_1(raw, file)
    draft = Draft()
    read_tables(raw, draft, TOP, needed)
    check_tables(draft)
    if draft.problems:
        raise InputError(draft.problems, file)
    tables = dict(draft.top)
    tables |= {name: draft.single[name] and draft.single[name].table for name in SINGLE}
    tables |= {name: {key: entry.table for key, entry in draft.keyed[name].items()} for name in KEYED}
    tables |= {name: tuple(entry.table for entry in draft.repeated[name]) for name in REPEATED}
    _check_variants(raw, tables["variant"], file)
    return fill_defaults(tables)


def _check_variants(raw: dict, variants: tuple[Variant, ...], file: str) -> None:
    """Every variant must be a site itself; its problems are reported by its name."""
    problems = []
    for variant in variants:
        changed, wrong = changed_tables(raw, variant)
        problems += wrong
        if not wrong:
            try:
                _checked(changed, file, needed=())
            except InputError as error:
                where = f"variant {show_value(variant.name)}, in"
                problems += [replace(each, key=f"{where} {each.key}") for each in error.problems]
    if problems:
        raise InputError(problems, file)


def parse_site(text: str, name: str = "site.toml") -> Site:
    """The site that a text describes; `name` stands for the file in messages. InputError holds all problems."""
    try:
        raw = tomllib.loads(text)
    except ValueError as error:
        # Not TOMLDecodeError alone: an integer of thousands of digits ends as its parent.
        raise InputError([_syntax_problem(str(error), text)], name) from None
    except RecursionError:
        raise InputError(["the brackets are nested too deeply for a site file"], name) from None
    _refuse_a_study(raw, name)
    site = Site.__new__(Site)
    BaseModel.__init__(site, **_checked(raw, name, needed=("schema", "title")))
    site._text = text
    return site


def _refuse_a_study(raw: dict, name: str) -> None:
    """One line for a study's file where a site's is expected: none of its keys is a mistake, it is only another kind of file."""
    found = [key for key in STUDY_KEYS if key in raw]
    if found and "perimeter" not in raw:
        what = f"this is a study file (it has {', '.join(found)}), not a site file"
        raise InputError([f"{what}; type: fencecast study {shlex.quote(name)}"], name)


def load_site(path: str | PathLike) -> Site:
    """The site that a TOML file describes. InputError when it cannot be read or anything in it is wrong."""
    path = Path(path)
    try:
        content = path.read_bytes()
    except FileNotFoundError:
        hint = files_in(path.parent)
        raise InputError([f"there is no such file{hint}"], str(path)) from None
    except IsADirectoryError:
        raise InputError([f"this is a folder; name the site file in it{files_in(path)}"], str(path)) from None
    except PermissionError:
        raise InputError(["this file may not be read by you; change its permissions"], str(path)) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise InputError([f"this file cannot be read: {reason}"], str(path)) from None
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        problem = f"line {line}: byte 0x{content[error.start]:02x} is not UTF-8 text; save the file as UTF-8"
        raise InputError([problem], str(path)) from None
    site = parse_site(text, str(path))
    site._sha256 = hashlib.sha256(content).hexdigest()
    site._folder = path.parent
    return site


def as_site(thing: object) -> Site:
    """What stands for a site in the public functions: a Site, the path of its file, or a design with a site (a variant).

    UsageError for anything else.
    """
    if isinstance(thing, (str, PathLike)):
        return load_site(thing)
    site = getattr(thing, "site", None) if not isinstance(thing, Site) else thing
    if not isinstance(site, Site):
        raise UsageError(
            f'{type(thing).__name__} is no site: give the path of a site file, such as fc.run("yard.toml"), '
            'or a site, such as fc.load_site("yard.toml")'
        )
    return site


def _syntax_problem(message: str, text: str) -> str:
    found = re.search(r"\s*\(at (?:line (\d+), column (\d+)|end of document)\)\s*$", message)
    reason = message[: found.start()] if found else message
    lines = text.splitlines() or [""]
    if not found:
        return f"this is not TOML: {reason}"
    line = int(found[1]) if found[1] else len(lines)
    column = int(found[2]) if found[2] else len(lines[-1]) + 1
    shown = lines[line - 1].strip() if line <= len(lines) else ""
    return f"line {line}, column {column}: this is not TOML: {reason}: {shown}"


__all__ = ["SCHEMA", "Site", "as_site", "load_site", "parse_site"]
