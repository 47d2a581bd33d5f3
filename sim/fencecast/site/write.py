"""A site as the text of a site file: only what was given, so that reading it gives the same defaults."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from pydantic import BaseModel

from fencecast.errors import as_toml, toml_key
from fencecast.site.quantity import Quantity
from fencecast.site.reading import KEYED, REPEATED, SINGLE

if TYPE_CHECKING:
    from fencecast.site.whole import Site


def _plain(value: object) -> object:
    """Numbers, text, lists and dictionaries for whatever a table holds."""
    if isinstance(value, Quantity):
        return value.as_toml_value()
    if isinstance(value, BaseModel):
        return {key: _plain(part) for key, part in _given(value)}
    if isinstance(value, Mapping):
        return {key: _plain(part) for key, part in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(part) for part in value]
    return value


def _given(table: BaseModel) -> Iterator[tuple[str, object]]:
    """Keys that were given, in the order of the schema; None is what a key is when it is left out."""
    for key in type(table).model_fields:
        value = getattr(table, key)
        if key in table.model_fields_set and value is not None:
            yield key, value


def _lines(heading: str, table: BaseModel) -> list[str]:
    return ["", heading, *(f"{toml_key(key)} = {as_toml(_plain(value))}" for key, value in _given(table))]


def site_to_toml(site: Site) -> str:
    """The text of a site file that `parse_site` reads as an equal site. Comments and units of the original are not kept."""
    lines = [
        f"schema = {site.schema_version}",
        f"title = {as_toml(site.title)}",
        f"seed = {site.seed}",
        f"units = {as_toml(site.units)}",
    ]
    for name in SINGLE:
        table = getattr(site, name)
        # The text of a site without stimuli stays what it was before there were any.
        if table is not None and (name != "nuisance" or table.model_fields_set):
            lines += _lines(f"[{name}]", table)
    for name in KEYED:
        for key, table in getattr(site, name).items():
            lines += _lines(f"[{name}.{toml_key(key)}]", table)
    for name in REPEATED:
        for table in getattr(site, name):
            lines += _lines(f"[[{name}]]", table)
    return "\n".join(lines) + "\n"
