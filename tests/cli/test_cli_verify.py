"""`fencecast verify`: the table, the object, the exit codes, what is said when a library is missing, the model card."""

from __future__ import annotations

import json
import sys
from importlib.resources import files

import pytest
from command_line import CAUTION, flat, typed

from fencecast.evidence import catalogue
from fencecast.evidence.check import Check

GOOD = Check("first_check", "A quantity, 1-2 m", 0.25, "of 1", 0.5, "rounding", "a handbook", 12, note="seen 7")
BAD = Check("second_check", "Another quantity", 0.75, "K", 0.5, "rounding", "another handbook", 30)


@pytest.fixture
def invented(monkeypatch):
    """The command with invented checks in the place of the real ones."""

    def with_checks(*checks):
        def run_all(progress):
            for subject, check in zip(("Air", "Air", "Lens"), checks):
                progress(subject)
                yield subject, check

        monkeypatch.setattr(catalogue, "run_all", run_all)

    return with_checks


def test_table_and_exit_code_when_all_pass(invented):
    """Catches: a column left out, subjects lost, a count that is wrong, progress on standard output."""
    invented(GOOD)
    code, out, err = typed("verify")
    assert code == 0
    for words in ("Air", "A quantity, 1-2 m", "seen 7", "0.25", "of 1", "0.5: rounding", "a handbook", "pass"):
        assert words in out
    assert "1 of 1 checks pass, 12 comparisons" in out
    assert flat(out).endswith(CAUTION)
    assert "Air ..." in err


def test_exit_code_1_when_one_fails(invented):
    """Catches: a failure that a script does not notice, or that nobody finds in a long table."""
    invented(GOOD, BAD)
    code, out, _ = typed("verify")
    assert code == 1
    assert "FAIL" in out
    assert "1 of 2 checks pass, 42 comparisons" in out
    assert "These fail: second_check." in out


def test_one_json_object(invented):
    """Catches: text beside the object, an exit code that forgets the failure."""
    invented(GOOD, BAD)
    code, out, _ = typed("verify", "--json")
    assert code == 1
    found = json.loads(out)
    assert (found["passed"], found["failed"]) == (False, ["second_check"])
    assert found["caution"] == CAUTION and len(found["not_modelled"]) > 5
    assert found["checks"][0] == {
        "subject": "Air", "name": "first_check", "quantity": "A quantity, 1-2 m", "worst": 0.25, "unit": "of 1",
        "tolerance": 0.5, "cause": "rounding", "source": "a handbook", "cases": 12, "note": "seen 7", "passed": True,
    }  # fmt: skip


def test_a_missing_library_is_named_with_the_extra(monkeypatch):
    """Catches: a traceback for a user who has not installed the extra; a run that stops half way."""
    monkeypatch.setitem(sys.modules, "galsim", None)
    monkeypatch.setitem(sys.modules, "psychrolib", None)
    code, out, err = typed("verify")
    assert code == 2
    assert out == ""
    assert "psychrolib, galsim" in err
    assert 'pip install "fencecast[verify]"' in err


def test_the_extra_installs_what_is_needed():
    """Catches: a library that the checks import and the extra does not name."""
    from importlib.metadata import requires

    names = {"cv2": "opencv-python-headless"}
    asked = {words.split(">")[0].lower() for words in requires("fencecast") if 'extra == "verify"' in words.replace("'", '"')}
    assert {names.get(name, name) for name in catalogue.LIBRARIES} == asked


def test_the_model_card():
    """Catches: a card that is not in the package, parts left out of it, a card mixed with an object."""
    text = files("fencecast").joinpath("MODEL_CARD.md").read_text(encoding="utf-8")
    code, out, _ = typed("verify", "--card")
    assert code == 0
    for words in ("Clear air", "Clothing", "walk test", "N50", "known bias"):
        assert words in text
        assert words in out
    code, out, err = typed("verify", "--card", "--json")
    assert code == 2
    assert out == ""
    assert "--card and --json" in err
