"""The page about the site file names every key of every table, and no other."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from fencecast.cautions import CAUTION
from fencecast.site.columns import MEASURES
from fencecast.site.keypage import TABLES as KEY_TABLES
from fencecast.site.keypage import site_page
from fencecast.site.meanings import MEANINGS
from fencecast.site.reading import KEYED, REPEATED, SINGLE
from fencecast.site.whole import TOP

PAGE = (Path(__file__).parents[2] / "sim" / "fencecast" / "pages" / "site-file.md").read_text(encoding="utf-8")
TABLES = {**{f"[{n}]": c for n, c in SINGLE.items()}, **{f"[{n}.NAME]": c for n, c in KEYED.items()}}
TABLES |= {f"[[{n}]]": c for n, c in REPEATED.items()}


def section_of(heading: str) -> str:
    """The part of the page under the heading that names this table."""
    parts = re.split(r"^## ", PAGE, flags=re.MULTILINE)
    found = [part for part in parts[1:] if f"`{heading}`" in part.splitlines()[0]]
    assert len(found) == 1, heading
    return found[0]


@pytest.mark.parametrize("heading", TABLES)
def test_every_key_of_a_table_is_on_the_page(heading):
    """Catches a key that was added and never written down, and a table without a section."""
    section = section_of(heading)
    missing = [key for key in TABLES[heading].model_fields if f"`{key}`" not in section]
    assert not missing


def test_every_key_on_the_page_exists():
    """Catches a key that was renamed or dropped: the first cell of every row names keys of the section's tables."""
    for part in re.split(r"^## ", PAGE, flags=re.MULTILINE)[1:]:
        headings = [h for h in re.findall(r"`([^`]+)`", part.splitlines()[0]) if h in TABLES]
        known = {key for heading in headings for key in TABLES[heading].model_fields}
        known |= {key for name in ("perimeter gates", "weather front_window") if f"[[{name.split()[0]}]]" in headings
                  for key in KEY_TABLES[name].model_fields}  # fmt: skip
        known |= {"schema", "title", "seed", "units"} if not headings else set()
        for row in re.findall(r"^\| (`.*?) \|", part, flags=re.MULTILINE):
            assert set(re.findall(r"`(\w+)`", row)) <= known, row


def test_every_field_of_a_weather_file_is_on_the_page():
    for name, measure in MEASURES.items():
        assert f"`{name}`" in PAGE
        assert all(unit in PAGE for unit in measure.units)


def test_the_page_is_made_from_the_schema():
    """Catches: a page that was changed by hand, a limit or default that changed without its page."""
    assert site_page() == PAGE, "type: python -m fencecast.site.keypage"


def test_every_key_has_a_meaning_and_no_other():
    assert {name: set(keys) for name, keys in MEANINGS.items()} == {
        "": set(TOP),
        **{name: set(cls.model_fields) for name, cls in KEY_TABLES.items()},
    }


def test_the_page_says_what_reports_cannot():
    """Catches: a page without the caution, the words of the project, or what the schema has no place for."""
    for words in (
        CAUTION,
        "n at most 8",
        "waist",
        "1.0 m",
        "0.5 m",
        "open underneath",
        "`clutter_k`",
        "dead zone",
        "| crossing |",
    ):
        assert words in PAGE, words
