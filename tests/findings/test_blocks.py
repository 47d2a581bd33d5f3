"""Blocks: tables whose rows fit, the order and the words of what a console shows, no matplotlib for a sentence."""

import subprocess
import sys

import pytest

from cli.command_line import TINY
from fencecast.cli.layout import STYLES, rendered
from fencecast.findings import blocks
from fencecast.findings.blocks import LEFT, RIGHT, UNBROKEN, Cell, Heading, Line, Row, Table, metres_cell, words_of


def test_a_row_that_does_not_fit_its_table_is_refused():
    """Catches: numbers that slip under the wrong heading."""
    with pytest.raises(ValueError, match="its 2 columns"):
        Table.of([("class", LEFT), ("Pd", RIGHT)], [["fog", "0.9"], ["rain"]])


def test_every_role_has_a_style():
    """Catches: a report that fails for its style alone, on a site that nobody ran before."""
    roles = {blocks.TITLE, blocks.FINDING, blocks.TEXT, blocks.NOTE, blocks.CAUTION_ROLE, blocks.BAD, blocks.GOOD}
    assert roles | {"meets", "undecided", "weak", "no data"} == set(STYLES)


def test_numbers_and_place_codes_are_never_broken(monkeypatch):
    """In a narrow terminal words wrap, 'A 0-12 m' and '0.23 (0.17 to 0.29)' do not. Catches: a number cut in two."""
    from rich.console import Console

    table = Table.of(
        [("why", LEFT), ("Pd", RIGHT), ("at", UNBROKEN)], [["too little contrast is left", "0.23 (0.17 to 0.29)", "A 0-12 m"]]
    )
    console = Console(width=44, file=sys.stderr, color_system=None)
    with console.capture() as capture:
        for part in rendered([Heading("Why"), table, Line("one two three", indent=4), Row((Cell("A"), Cell("weak", "weak")))]):
            console.print(part)
    lines = capture.get().splitlines()
    assert lines[:2] == ["", "Why"]
    assert any("0.23 (0.17 to 0.29)" in line and "A 0-12 m" in line for line in lines)
    assert lines[-2].startswith("    one two three") and lines[-1] == "A  weak"
    assert max(map(len, lines)) <= 44


def test_metres_take_the_colour_of_their_verdict_only_where_there_are_any():
    assert metres_cell(12.4, "us", "weak") == Cell("12", "weak", "41 ft")
    assert metres_cell(0.3, "si", "weak") == Cell("0")


def test_words_of_blocks_have_everything_that_is_said():
    said = [
        Heading("Head"),
        Line("A line."),
        Table.of([("a", LEFT), ("b", RIGHT)], [["x", Cell("1")]]),
        Row((Cell("p"), Cell("q"))),
    ]
    assert words_of(said) == "Head\nA line.\na  b\nx  1\np  q"


@pytest.mark.parametrize(
    "words",
    [
        ["run", "tiny.toml", "--json", "--no-pictures", "--precision", "0.1"],
        ["run", "tiny.toml", "--no-pictures", "--precision", "0.1", "--lose-each", "camera"],
        ["ranges", "tiny.toml"],
        ["explain", "tiny.toml", "--camera", "C1", "--weather", "thick fog", "--distance", "20"],
    ],
)
def test_no_sentence_needs_matplotlib(tmp_path, words):
    """Catches: a report that imports a picture for a sentence (0.5 s, and a font cache in the user's home)."""
    (tmp_path / "tiny.toml").write_text(TINY)
    script = (
        "import sys\nfrom fencecast.cli import main\n"
        f"try: main({words!r})\nexcept SystemExit as end: assert not end.code, end.code\n"
        "sys.exit('matplotlib was imported' if 'matplotlib' in sys.modules else 0)"
    )
    ended = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, cwd=tmp_path)
    assert ended.returncode == 0, ended.stderr
    assert "Tiny yard" in ended.stdout or "One look by C1" in ended.stdout
