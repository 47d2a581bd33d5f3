"""The page of the site file, made from the schema: `python -m fencecast.site.keypage` writes it anew.

Keys, their order, defaults and limits are those of the checks; their meanings stand in `meanings`, the rest in `pagetexts`.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from fencecast.cautions import CAUTION
from fencecast.errors import as_toml
from fencecast.site import pagetexts
from fencecast.site.columns import MEASURES
from fencecast.site.fields import OneOf, Text
from fencecast.site.meanings import MEANINGS, Meaning
from fencecast.site.number import Check
from fencecast.site.quantity import Quantity
from fencecast.site.reading import KEYED, REPEATED, SINGLE, allowed_words
from fencecast.site.schema import FrontWindow, Gate, Table, check_of
from fencecast.site.stimulusfields import Coat
from fencecast.site.varying import Varying
from fencecast.site.whole import TOP

PAGES = Path(__file__).parents[1] / "pages"
HEAD = "| key | default | allowed | meaning |\n| --- | --- | --- | --- |\n"
# Sections of the page: heading, and the tables in it with a line above each ("" for none).
SECTIONS = (
    ("`[requirement]`: what must be met", ("requirement",)),
    ("`[site]`", ("site",)),
    ("`[[perimeter]]`: the sections of the fence", ("perimeter", "perimeter gates")),
    ("`[[obstacle]]`: buildings, stacks, tanks", ("obstacle",)),
    ("`[sensors.NAME]`", ("sensors",)),
    ("`[lenses.NAME]`", ("lenses",)),
    ("`[[camera]]`", ("camera",)),
    ("`[[rule]]`: what raises an alarm", ("rule",)),
    ("`[decision]`: the analytics", ("decision",)),
    ("`[tolerance]`: errors of mounting", ("tolerance",)),
    ("`[intruder]`: who crosses", ("intruder",)),
    ("`[[weather]]`: classes that you describe", ("weather", "weather front_window")),
    ("`[[stimulus]]`: what raises alarms and is no intrusion", ("stimulus",)),
    ("`[nuisance]`: what nuisance alarms mean to an operator", ("nuisance",)),
    ("`[[soak]]`: alarms counted on the finished site", ("soak",)),
    ("`[weather_file]`: an hourly record instead of classes", ("weather_file",)),
    ("`[armed]`: when an hourly record counts", ("armed",)),
    ("`[built]`: what was measured on the finished site", ("built",)),
    ("`[map]`: where the site lies", ("map",)),
    ("`[picture]`: an aerial picture under the key plan", ("picture",)),
    ("`[[variant]]`: what `fencecast compare` compares with the file as it stands", ("variant",)),
    ("`[[mounting]]`: where `fencecast place` may put cameras", ("mounting",)),
    ("`[kit]`: what `fencecast place` may use", ("kit",)),
    ("`[calibration]`: what walks on the finished site said", ("calibration",)),
    ("`[prices]`: what `fencecast bill` counts with", ("prices",)),
    ("`[[item]]`: what else belongs in the bill", ("item",)),
    ("`[check]`: limits of the design review", ("check",)),
    ("`[[accept]]`: findings of the design review that may stay", ("accept",)),
    ("`[[land]]`: ground that cameras see, and whose it is", ("land",)),
)
TABLES: dict[str, type[Table]] = {
    **SINGLE,
    **KEYED,
    **REPEATED,
    "perimeter gates": Gate,
    "weather front_window": FrontWindow,
}
_ABOVE = {"perimeter gates": "Each of `gates`:", "weather front_window": "In `front_window`:"}
_TEXT_LIMITS = ": text in quotes, 1 to {} characters, no blank at either end"


def site_page() -> str:
    """The page as Markdown."""
    parts = [pagetexts.OPENING, "## Top level\n\n" + top_table(TOP, ("schema", "title"), MEANINGS[""])]
    for heading, tables in SECTIONS:
        rows = [f"{_ABOVE[name]}\n\n{key_table(TABLES[name], MEANINGS[name])}" if name in _ABOVE
                else key_table(TABLES[name], MEANINGS[name]) for name in tables]  # fmt: skip
        more = ["\n" + pagetexts.MORE[name].strip() + "\n" for name in tables if name in pagetexts.MORE]
        if "weather_file" in tables:
            more.insert(0, _measures())
        parts.append(("\n".join([f"## {heading}\n", *rows]).rstrip("\n") + "\n" + "".join(more)).rstrip("\n") + "\n")
    return "\n".join([*parts, pagetexts.GLOSSARY, f"**{CAUTION}**\n"])


def top_table(checks: Mapping[str, tuple[Check, Any]], needed: tuple[str, ...], meanings: Mapping[str, Meaning]) -> str:
    """Rows of the top level, whose checks stand beside their defaults."""
    return HEAD + "".join(_row(key, check, default, key in needed, meanings[key]) for key, (check, default) in checks.items())


def key_table(cls: type[Table], meanings: Mapping[str, Meaning]) -> str:
    """One row for each key of a table of the schema."""
    return HEAD + "".join(
        _row(key, check_of(cls, key), info.default, info.is_required(), meanings[key]) for key, info in cls.model_fields.items()
    )


def _row(key: str, check: Check | None, default: Any, needed: bool, meaning: Meaning) -> str:
    words, instead = meaning if isinstance(meaning, tuple) else (meaning, "")
    return f"| `{key}` | {'**R**' if needed else instead or _default(default)} | {_allowed(check)} | {words} |\n"


def _default(value: Any) -> str:
    if isinstance(value, Quantity):
        value = value.as_toml_value()
    if isinstance(value, Mapping) and "dist" in value:
        return f"`{as_toml(dict(value))}`"
    if value is None or value in ((), {}):
        return "none"
    if isinstance(value, Mapping):
        return ", ".join(f"{name} {part:g}" for name, part in value.items())
    if isinstance(value, float):
        return f"{value:g}"
    return f"`{as_toml(value)}`"


def _allowed(check: Check | None) -> str:
    """What may stand there, as the reports say it, without what is the same for all keys of a kind."""
    if check is None:
        return "a table"
    if isinstance(check, (Varying, Coat)):
        return f"V: {check.number.allowed}"
    if isinstance(check, OneOf):
        return ", ".join(f"`{option}`" for option in check.options)
    if isinstance(check, Text):
        return f"text, at most {check.longest} characters"
    words = allowed_words(check)
    for cut in (" (m, mm, cm, um, km, ft, in, yd in quotes, or plain metres)", ", without quotes", "; fields: "):
        words = words.split(cut)[0]
    return words.replace("|", "\\|")


def _measures() -> str:
    fields = ", ".join(
        f"`{name}`" + (f" ({', '.join(measure.units)})" if len(measure.units) > 1 else "") for name, measure in MEASURES.items()
    )
    return f"\nFields of `columns` with their units: {fields}.\n"


def write(name: str, text: str) -> None:
    """Write a page into the package."""
    (PAGES / name).write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    write("site-file.md", site_page())
