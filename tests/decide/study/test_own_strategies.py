"""Strategies of a user's own: the worked file runs, and what cannot be used is refused by the strategy's name."""

from pathlib import Path

import pytest

import fencecast
from cli.command_line import typed
from decide.study.study_files import tables, tiny
from fencecast.decide.study.own import StrategyError
from fencecast.decide.study.pieces import compute_piece, study_pieces
from fencecast.errors import UsageError

EXAMPLE = Path(fencecast.__file__).parent / "examples" / "own-strategy.py"
COST = {"by": "cost", "number": [20000.0]}
CAMERA = "dict(mark='M1', position_m=site.mounting[0].points_m[0], height_m=4.0, bearing_deg=0, depression_deg=12, sensor='core', lens=lens, price=1.0)"  # noqa: E501


@pytest.fixture
def own(tmp_path, monkeypatch):
    """A folder to stand in; own(name, body) writes a strategy that does this, and gives the first piece of a study with it."""
    monkeypatch.chdir(tmp_path)

    def piece(name: str, body: str, **changes) -> dict:
        (tmp_path / f"{name}.py").write_text(f"def lay(site, kit, requirement, *, lens, **options):\n    {body}\n")
        study = tiny(strategies=[f"{name}:lay"], yards={**tables()["yards"], "count": 1}, **changes)
        return next(study_pieces(study))[1]

    return piece


@pytest.mark.parametrize("equal", [{"by": "cameras", "number": [14.0]}, COST])
def test_the_worked_strategy_runs(tmp_path, monkeypatch, equal):
    """As `fencecast example` writes it. Catches: a signature in the documentation that the study does not call, names in it that
    do not exist, a module's name that cannot be imported."""
    monkeypatch.chdir(tmp_path)
    assert typed("example", "own-strategy").out.startswith("Written  own_strategy.py\nNext     name it in a study file")
    assert (tmp_path / "own_strategy.py").read_bytes() == EXAMPLE.read_bytes()
    study = tiny(strategies=["own_strategy:middle_masts"], yards={**tables()["yards"], "count": 1}, equal=equal)
    row = compute_piece(next(study_pieces(study))[1])["allowances"][0]
    assert row["cameras"] >= 8 and row["cameras"] % 2 == 0
    assert ("price" in row["site_toml"]) and (row["cost"] or 0.0) <= 20000.0


@pytest.mark.parametrize(
    ("name", "body", "changes", "said"),
    [
        ("priceless", f"return [{CAMERA.replace(', price=1.0', '')}]", {"equal": COST},
         "strategy priceless:lay gives M1 no price, and designs are compared at equal cost"),
        ("tall", f"return [{{**{CAMERA}, 'height_m': 9.5}}]", {}, "9.5 m up; heights allowed there: 4 m"),
        ("astray", f"return [{{**{CAMERA}, 'position_m': (500.0, 0.0)}}]", {},
         "strategy astray:lay puts M1 at 500, 0 m, 4 m up, which is no place of [[mounting]] and no face of an obstacle"),
        ("malformed", "return [dict(mark='M1', bearing=3)]", {},
         "strategy malformed:lay must return cameras, or tables with the keys of [[camera]]: position_m: Field required"),
        ("nothing_at_all", "return None", {}, "strategy nothing_at_all:lay must return cameras"),
        ("broken", "return 1 / 0", {}, "strategy broken:lay failed: ZeroDivisionError: division by zero"),
        ("twice", f"return [{CAMERA}, {CAMERA}]", {}, "strategy twice:lay returned several cameras of one mark: M1"),
    ],
)  # fmt: skip
def test_what_cannot_be_used_is_refused_by_name(own, name, body, changes, said):
    """Catches: cameras in the air, free ones that win at equal cost, a report of keys that does not say whose they are."""
    with pytest.raises(StrategyError) as caught:
        compute_piece(own(name, body, **changes))
    assert said in str(caught.value)


def test_no_layout_is_no_error(own):
    """Catches: a strategy that says that it has none and ends the study with it."""
    answer = compute_piece(own("without", "from fencecast import UsageError; raise UsageError('no room here')"))
    assert [row["no_layout"] for row in answer["allowances"]] == ["no room here"] * 2


def test_imported_helpers_count_as_source(own, tmp_path):
    """Catches: pieces of yesterday's helper that are taken for today's. Reference: the piece's own inputs, before and after."""
    (tmp_path / "spare").mkdir()
    (tmp_path / "spare" / "__init__.py").write_text("")
    (tmp_path / "spare" / "deep.py").write_text("from . import deeper\n")
    (tmp_path / "spare" / "deeper.py").write_text("X = 1\n")
    (tmp_path / "unrelated.py").write_text("X = 1\n")
    body = "from spare import deep; return []"
    before = own("helped", body)["source"]
    (tmp_path / "unrelated.py").write_text("X = 2\n")
    assert own("helped", body)["source"] == before
    (tmp_path / "spare" / "deeper.py").write_text("X = 2\n")
    assert own("helped", body)["source"] != before


def test_a_strategy_that_cannot_be_loaded_is_named(own):
    with pytest.raises(UsageError, match="strategy absent:lay cannot be loaded"):
        tiny(strategies=["absent:lay"])
