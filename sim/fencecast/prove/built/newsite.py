"""The text of the site file as built: comments, order and every key that was not measured stay as they are (tomlkit)."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from fencecast.errors import InputError, as_toml, toml_key
from fencecast.maps.update import insert_key
from fencecast.site import Site, parse_site
from fencecast.site.schema import Lens

_AFTER = (
    "height_sd_m", "depression_sd_deg", "bearing_sd_deg", "roll_deg", "depression_deg", "bearing_deg", "aim_m", "height_m",
    "position_m", "mark",
)  # fmt: skip


def rewritten(
    site: Site,
    cameras: Mapping[str, Mapping[str, Any]],
    lenses: Mapping[str, tuple[str, float]],
    built: Mapping[str, Any],
    name: str,
) -> Site:
    """The site with new values of cameras, by mark and key; lenses: new ones, name to (name of the old, focal length [mm]);
    built: keys of `[built]`.

    InputError, about the file called name, where tomlkit would change what it is not asked to.
    """
    import tomlkit

    text = site.text
    document = tomlkit.parse(text)
    if tomlkit.dumps(document) != text:
        problem = "tables of one kind are not together, and would be moved; put them together, and try again"
        raise InputError([problem], name)
    for table in document.get("camera", []):
        _change(table, cameras.get(str(table.get("mark")), {}))
    if "built" in document:
        document.remove("built")
    changed = tomlkit.dumps(document).rstrip("\n") + "\n"
    for lens, (old, focal_mm) in lenses.items():
        changed += "\n" + _lens_text(lens, site.lenses[old], focal_mm)
    changed += "\n[built]\n" + "".join(f"{key} = {as_toml(value)}\n" for key, value in built.items())
    made = parse_site(changed, name)
    made._folder = site.folder
    return made


def _change(table: Any, new: Mapping[str, Any]) -> None:
    """New values of one camera; a comment behind an old value stays behind the new one."""
    import tomlkit

    for key, value in new.items():
        if key in table:
            table[key] = tomlkit.item(value)
            continue
        after = next((each for each in _AFTER if each in table), None)
        if hasattr(table.value, "_insert_after"):
            insert_key(table, after, key, tomlkit.item(value))
        else:
            table[key] = value
    if new and "aim_m" in table:
        del table["aim_m"]


def _lens_text(name: str, old: Lens, focal_mm: float) -> str:
    keys = {key: getattr(old, key) for key in type(old).model_fields if key in old.model_fields_set}
    keys["focal_length_mm"] = focal_mm
    lines = [f"{key} = {as_toml(value)}" for key, value in keys.items() if value is not None]
    return f"[lenses.{toml_key(name)}]\n" + "\n".join(lines) + "\n"


def degrees(angle_rad: float) -> float:
    """As it is written: thousandths of a degree."""
    return round(math.degrees(angle_rad), 3)
