"""Sentences that several readers share: chosen hours, readings, and the words that findings and the command line must not use."""

import ast
import re
from pathlib import Path

import pytest

from fencecast.cautions import CAUTION, NOT_MODELLED
from fencecast.estimate.lift import Due
from fencecast.findings.condition import only_words, stress_sentence, whole_words
from fencecast.findings.readings import Reading, reading_sentence
from fencecast.findings.unseen import Away, Unseen

PACKAGE = Path(__file__).parents[2] / "sim" / "fencecast"
# Words that a prediction must not use, and words that only this project used.
NEVER = ("secure", "safe", "detects", "covers", "guaranteed", "prove", "told", "hangs on", "deaf", "carries it", "on watch",
         "wins", "noise-only", "specification", "from memory", "sound", "cell", "cells", "held against", "holds 0",
         "W/m²sr")  # fmt: skip


def test_chosen_hours_are_said_with_their_counts():
    """Catches: hours of a record of three weeks called a year; a condition left out."""
    attrs = {"stress": "visibility_m<=100", "stress_hours": 21.0, "stress_of_hours": 4344.0, "period_years": 1.0}
    assert stress_sentence(attrs) == (
        "Stress: 21 of 4,344 armed hours a year have visibility_m<=100; every number below is about these hours alone, not about "
        "the year."
    )
    assert only_words(attrs) == ("Only hours with ", "visibility_m<=100", " (21 of 4,344 armed hours a year)")
    short = stress_sentence(attrs | {"period_years": 0.1})
    assert "21 of 4,344 armed hours of the record have" in short and short.endswith("not about all of the record.")
    assert stress_sentence({"stress": ""}) == "" and only_words({}) == ("", "", "")
    assert whole_words({"stress": "(fog==none or rain_mm_h>1)and(wind_m_s<2)"}) == (
        "The condition in full: (fog==none or rain_mm_h>1) and (wind_m_s<2)"
    )


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({}, "Best camera here: C7, 30 m away; often too little contrast is left in heavy rain."),
        ({"often": False, "cause": "too brief"}, "Best camera here: C7, 30 m away; large enough for too few looks."),
        (
            {"cause": "too brief", "due": Due("look rate", 0.98), "looks": (8, 8), "rate": 1.5},
            "Best camera here: C7, 30 m away; often large enough for too few looks: the alarm wants 8 of 8, taken at 1.5 a "
            "second; with 5 a second Pd 0.98.",
        ),
        ({"cause": None}, "Best camera here: C7, 30 m away; misses are too few to name a cause."),
        ({"weak": False}, "Best camera here: C7, 30 m away; of its few misses most are washed out."),
        ({"best": None}, "No camera is of use here: too little contrast is left in heavy rain; the nearest is C6, 8 m away."),
        (
            {"cause": "not in view", "best": None, "unseen": Unseen("below", Away("C6", 7.6), edge_m=8.0)},
            "No camera assigned here sees the blind ground below C6, within 8 m.",
        ),
        (
            {"cause": "not in view", "unseen": Unseen("elsewhere", Away("C6", 8.0)), "widespread": True},
            "No camera assigned here looks this way; the nearest is C6, 8 m away, and looks elsewhere. Best camera here: C7, "
            "30 m away. Most of the fence is also weak in heavy rain.",
        ),
        (
            {"cause": "not in view", "unseen": Unseen("hidden", Away("C7", 30.0), "shed")},
            "Hidden by the shed from C7, 30 m away.",
        ),
        (
            {"cause": "not in view", "best": None, "unseen": Unseen("framed", Away("C7", 30.0), most=True, fence_first=True)},
            "C7, 30 m away, has the place in its picture, yet most crossings meet the next fence before they reach the rule's "
            "line.",
        ),
    ],
)
def test_a_reading_is_one_sentence_made_from_data(change, said):
    """Catches: a camera named twice, a cause without its words, 'often' where nearly all are missed."""
    usual = {"weather": "heavy rain", "cause": "washed out", "best": Away("C7", 30.0), "nearest": Away("C6", 8.0),
             "weak": True, "often": True, "widespread": False}  # fmt: skip
    assert reading_sentence(Reading(**{**usual, **change})) == said


def test_feet_follow_metres_in_a_reading():
    reading = Reading("fog", "washed out", Away("C7", 30.48), Away("C7", 30.48), True, False, False)
    assert reading_sentence(reading, "us").startswith("Best camera here: C7, 30 m (100 ft) away; ")


def spoken(path: Path) -> list[str]:
    """Every text of a module but its docstrings and the names of keys and variables."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    docs = {node.value for node in ast.walk(tree) if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)}
    texts = [n.value for n in ast.walk(tree) if isinstance(n, ast.Constant) and isinstance(n.value, str) and n not in docs]
    return [text for text in texts if " " in text.strip()]


@pytest.mark.parametrize("path", [*(PACKAGE / "findings").glob("*.py"), *(PACKAGE / "cli").glob("*.py")], ids=lambda p: p.stem)
def test_no_text_has_a_word_of_the_old_dialect_or_a_promise(path):
    """Catches: 'carries it', 'told', 'secure' in anything that is printed."""
    pattern = re.compile(r"(?<![\w])(" + "|".join(re.escape(word) for word in NEVER) + r")(?![\w])", re.IGNORECASE)
    assert not [text for text in spoken(path) if pattern.search(text)]


def test_caution_and_limits_stand_in_one_place():
    """Catches: a second wording of the caution, a limit that a later effect made untrue and that was mended in one place only."""
    for path in PACKAGE.rglob("*.py"):
        if path.name != "cautions.py":
            text = path.read_text(encoding="utf-8")
            assert "not life safety" not in text, path
    assert CAUTION.endswith("Only tests on the finished site are proof.")
    assert {"transmission", "assessment", "response", "Nuisance"} <= set(re.findall(r"\w+", " ".join(NOT_MODELLED)))
