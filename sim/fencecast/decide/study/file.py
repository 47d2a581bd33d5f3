"""The study file: which strategies, lenses, yards and weather, and at what equal number of cameras or equal cost.

Tables that a site file has ([requirement], [site], [sensors.NAME], [[weather]] ...) are read and refused as there; the yards come
from [yards], a generator, and from [[yard]], paths of site files. Weather is [[weather]] tables or one hourly record for all.
"""

from __future__ import annotations

import hashlib
import shlex
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from os import PathLike
from pathlib import Path
from typing import Annotated, Any

from fencecast.decide.place.kit import mountings_of
from fencecast.decide.study.equal import Equal, check_equal
from fencecast.decide.study.record import Record, read_record, tables_of_yards
from fencecast.decide.study.strategies import STRATEGIES, strategy_of
from fencecast.decide.study.yards import Yards, make_yard, yard_name
from fencecast.errors import InputError, Problem, UsageError, close_match, name_list, show_value, toml_key
from fencecast.site import Site, load_site
from fencecast.site.checks import check_tables
from fencecast.site.fields import Names, OneOf, Text, as_sequence
from fencecast.site.formerly import refuse_schema_1
from fencecast.site.number import Number
from fencecast.site.reading import Draft, read_table, read_tables
from fencecast.site.schema import Requirement, Table
from fencecast.site.whole import STUDY_KEYS

STUDY_SCHEMA = 2
NEEDED = ("schema", "title", "strategies")
DEFAULT_CROSSINGS = 64
# What a study shares with a site file, for every yard; what is a yard's own has no place in a study.
SHARED = ("requirement", "site", "decision", "tolerance", "intruder", "kit", "sensors", "lenses", "weather",
          "weather_file", "armed")  # fmt: skip
_OWN = {
    "camera": "strategies propose the cameras; leave it out",
    "perimeter": "yards come from [yards], or from site files in [[yard]]",
    "obstacle": "yards come from [yards], or from site files in [[yard]]",
    "mounting": "yards come from [yards], or from site files in [[yard]]",
    "rule": "every yard of [yards] has a line rule along its fence; a site file in [[yard]] keeps its own",
    "variant": "a study compares strategies and lenses; use fencecast compare for variants",
}
TOP = {
    "schema": (
        Number(
            "the format that this version of fencecast reads",
            STUDY_SCHEMA,
            at_least=STUDY_SCHEMA,
            at_most=STUDY_SCHEMA,
            whole=True,
        ),
        STUDY_SCHEMA,
    ),
    "title": (Text("a title", "Four strategies, forty yards", longest=200), None),
    "seed": (Number("a whole number", 7, at_least=0, at_most=2**63 - 1, whole=True), 0),
    "units": (OneOf(("si", "us")), "si"),
    "strategies": (Names("names of strategies", '["chain", "corner pairs"]'), None),
    "lens": (Names("names of lenses", '["wide", "long"]'), ()),
    "base": (Text("a strategy's name", "chain"), None),
    "design_weather": (Text('"worst", "year" or the name of a weather class', "worst"), "worst"),
    "crossings": (Number("a whole number", DEFAULT_CROSSINGS, at_least=16, at_most=2**20, whole=True), DEFAULT_CROSSINGS),
}


class Yard(Table):
    """`[[yard]]`: a site file; its own cameras are left out."""

    path: Annotated[str, Text("the path of a site file", "yards/north.toml", longest=400)]


@dataclass(frozen=True)
class Study:
    """A study as it was read: read-only, checked.

    allowances: what a layout may use, cameras or cost (`by`), per yard or per 100 m of fence; tables: those of `SHARED` that the
    file gives, as typed; sites: the texts of the [[yard]] files with the study's tables in place of their own; weather: the
    classes of the file, or those of the record's armed hours; record: the hourly record, None without one.
    """

    title: str
    seed: int
    units: str
    strategies: tuple[str, ...]
    lenses: tuple[str, ...]
    base: str | None
    design_weather: str
    crossings: int
    by: str
    per_100_m: bool
    allowances: tuple[float, ...]
    requirement: Requirement
    weather: tuple
    yards: Yards | None
    sites: tuple[tuple[str, Site], ...]
    tables: Mapping[str, Any]
    text: str
    sha256: str
    record: Record | None = None

    @property
    def yard_names(self) -> tuple[str, ...]:
        """Names of all yards: invented ones first, then the site files'."""
        invented = tuple(yard_name(k) for k in range(self.yards.count)) if self.yards else ()
        return invented + tuple(name for name, _ in self.sites)


def load_study(path: str | PathLike) -> Study:
    """The study that a TOML file describes. InputError when it cannot be read or anything in it is wrong."""
    path = Path(path)
    try:
        content = path.read_bytes()
        text = content.decode("utf-8-sig")
        raw = tomllib.loads(text)
    except FileNotFoundError:
        raise InputError(["there is no such file"], str(path)) from None
    except IsADirectoryError:
        raise InputError(["this is a folder; name the study file in it"], str(path)) from None
    except OSError as error:
        raise InputError([f"this file cannot be read: {error.strerror or error}"], str(path)) from None
    except UnicodeDecodeError as error:
        raise InputError([f"byte {error.start} is not UTF-8 text; save the file as UTF-8"], str(path)) from None
    except (ValueError, RecursionError) as error:
        raise InputError([f"this is not TOML: {error}"], str(path)) from None
    return read_study(raw, str(path), path.parent, text, hashlib.sha256(content).hexdigest())


def read_study(raw: Mapping, file: str, folder: Path, text: str = "", sha256: str = "") -> Study:
    """The study in the tables of a file; InputError with every problem, UsageError for a strategy that cannot be loaded."""
    _refuse_a_site(raw, file)
    refuse_schema_1(raw, file)
    draft = Draft()
    raw = dict(raw)
    own = {name: raw.pop(name) for name in ("equal", "yards", "yard") if name in raw}
    known = [*TOP, *SHARED, "equal", "yards", "yard"]
    for key in [key for key in raw if key not in known]:
        near = close_match(key, known)
        allowed = _OWN.get(key) or (f"did you mean {near}?" if near else f"known here: {', '.join(known)}")
        draft.refuse(
            toml_key(key), raw.pop(key), allowed, fault="has no place in a study" if key in _OWN else "is not a known key"
        )
        if near and key not in _OWN:
            draft.meant.add(near)
            own.setdefault(near, None)  # a needed table that was misspelt is one problem, not two
    paths = _yard_paths(draft, own)
    if paths and not {"weather", "weather_file", "armed"} & draft.meant.union(raw) and "yards" not in own and not draft.problems:
        raw = {**tables_of_yards(paths, folder), **raw}
    tables = {name: raw[name] for name in SHARED if name in raw}
    # Any yard will do to read the shared tables with: they are checked as those of a site.
    read_tables(stand_in_yard(raw), draft, TOP, NEEDED)
    check_tables(draft)
    equal = _table(draft, own, Equal, "equal", 'a table [equal] with by = "cameras" and a number or per_100_m')
    check_equal(draft, equal)
    yards = _table(draft, own, Yards, "yards", "") if "yards" in own else None
    if paths and "weather_file" in raw and "site" not in raw:
        allowed = "the ground and the place of all yards: with an hourly record they meet the same hours"
        draft.refuse("[site]", Problem.MISSING, allowed, 'ground = "gravel"')
    if not {"yards", "yard"} & set(own):
        draft.refuse("[yards]", Problem.MISSING, "a table [yards] with count, or one or more tables [[yard]] with a path")
    top = draft.top
    _check_names(draft)
    if draft.problems:
        raise InputError(draft.problems, file)
    for name in top["strategies"]:
        strategy_of(name)
    lenses = top["lens"] or tuple(draft.keyed["lenses"])
    amounts = equal.number or equal.per_100_m
    by_name = [(Path(path).stem, _merged(load_site(folder / path), tables)) for path in paths]
    record, weather = None, tuple(entry.table for entry in draft.repeated["weather"])
    if "weather_file" in tables:
        record = read_record(Site(title="any yard", **stand_in_yard(tables)), folder)
        weather = record.classes
        _check_design_weather(top["design_weather"], weather, file)
    return Study(
        top["title"], top["seed"], top["units"], top["strategies"], lenses, top["base"], top["design_weather"],
        top["crossings"] // 8 * 8, equal.by, equal.number is None, amounts, draft.single["requirement"].table, weather,
        yards, tuple(by_name), tables, text, sha256 or hashlib.sha256(text.encode()).hexdigest(), record,
    )  # fmt: skip


def stand_in_yard(tables: Mapping) -> dict[str, Any]:
    """Tables of some yard with those of a study."""
    return {"site": {"ground": "gravel"}, **tables, **make_yard(Yards(count=1), 0)}


def _refuse_a_site(raw: Mapping, file: str) -> None:
    """One line for a site's file where a study's is expected: none of its keys is a mistake, it is only another kind of file."""
    if "perimeter" not in raw or any(key in raw for key in STUDY_KEYS):
        return
    what = "this is a site file (it has perimeter), not a study file"
    raise InputError([f"{what}; type: fencecast run {shlex.quote(file)}, or name it in a [[yard]] of a study file"], file)


def _table(draft: Draft, own: Mapping, cls, name: str, needed: str):
    if name not in own:
        draft.refuse(f"[{name}]", Problem.MISSING, needed)
        return None
    if own[name] is None:
        return None
    entry = read_table(draft, cls, own[name], f"[{name}]", f"[{name}]")
    return entry.table if entry and not entry.refused else None


def _yard_paths(draft: Draft, own: Mapping) -> list[str]:
    rows = as_sequence(own.get("yard") or ())
    if rows is None:
        draft.refuse("[yard]", own["yard"], "tables [[yard]] with a path each, written with double brackets")
        return []
    paths: list[str] = []
    for number, row in enumerate(rows, start=1):
        entry = read_table(draft, Yard, row, f"yard number {number}", "[[yard]]")
        if entry and not entry.refused:
            if any(Path(entry.table.path).stem == Path(path).stem for path in paths):
                draft.refuse(f"yard number {number} path", entry.table.path, "a file name that no other [[yard]] has")
            paths.append(entry.table.path)
    return paths


def _check_names(draft: Draft) -> None:
    """Names that must be known: strategies (or module:function), lenses, the base, the weather that layouts are made for."""
    top = draft.top
    for name in top["strategies"] or ():
        if name not in STRATEGIES and ":" not in name:
            _unknown_name(draft, "strategies", name, STRATEGIES, " or your own as module:function")
    lenses, complete = draft.names("lenses")
    for name in top["lens"] or () if complete else ():
        if name not in lenses:
            _unknown_name(draft, "lens", name, lenses)
    if top["base"] and top["strategies"] and top["base"] not in top["strategies"]:
        _unknown_name(draft, "base", top["base"], top["strategies"])
    classes, complete = draft.names("weather")
    words = ("worst", "year", *classes)
    hourly = draft.single["weather_file"] is not None  # its classes are known when it is read
    if top["design_weather"] and complete and not hourly and top["design_weather"] not in words:
        _unknown_name(draft, "design_weather", top["design_weather"], words)


def _check_design_weather(name: str, classes, file: str) -> None:
    words = ("worst", "year", *(each.name for each in classes))
    if name not in words:
        draft = Draft()
        _unknown_name(draft, "design_weather", name, words)
        raise InputError(draft.problems, file)


def _unknown_name(draft: Draft, key: str, name: str, known, more: str = "") -> None:
    near = close_match(name, known)
    draft.refuse(key, name, f"one of {name_list(known)}{more}", f"{key} = {show_value(near)}" if near else "", "is not known")


def _merged(site: Site, tables: Mapping) -> Site:
    """A site file's yard with the study's tables in place of its own, without cameras; places to stand as `place` finds them."""
    keys: dict[str, Any] = {name: getattr(site, name) for name in ("site", "decision", "tolerance", "intruder", "perimeter")}
    rules = []
    for rule in site.rule:
        given = {key: getattr(rule, key) for key in rule.model_fields_set if key != "cameras" and getattr(rule, key) is not None}
        if given not in rules:
            rules.append(given)
    mountings = [
        {"name": z.name, "points_m": z.points_m, "heights_m": z.heights_m, "spacing_m": z.spacing_m, "price": z.price}
        for z in mountings_of(site)
    ]
    return Site(title=site.title, **{**keys, "obstacle": site.obstacle, "rule": rules, "mounting": mountings, **tables})


def check_workers(workers: int | None, scheduler: str) -> None:
    """Refuse a number of processes that cannot be, or one beside the address of a cluster."""
    if workers is not None and not 1 <= workers <= 1024:
        raise UsageError(f"workers {workers} is not allowed: a whole number from 1 to 1024; type for instance 2")
    if workers is not None and scheduler:
        raise UsageError("--workers starts processes here, --scheduler uses a cluster that runs already; leave one out")
