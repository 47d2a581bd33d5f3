"""Where walks at a place and the run's verdict of its segment do not agree."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from fencecast.estimate.results import Results
from fencecast.findings.provedplaces import client_disagreement_lines, disagreement_lines, disagreements
from fencecast.findings.provedtest import UNWALKED
from fencecast.findings.walkscore import score_object
from fencecast.prove.proof.scorefile import read_score
from fencecast.prove.walks.planfile import plan_sha256, write_plan
from report import invented_proof as invented

PLAN = invented.plan_of()
PLACE = PLAN.places[2]


@pytest.fixture(scope="module")
def score(tmp_path_factory):
    data = json.loads(json.dumps(score_object(invented.score_of(PLAN))))
    return read_score(invented.write(tmp_path_factory.mktemp("places") / "score.json", data), PLAN, plan_sha256(write_plan(PLAN)))


def results_with(pd: float, verdict: str) -> Results:
    """The yard with one Pd and one verdict everywhere."""
    results = invented.results_of_yard()
    results["pd"] = results["pd"] * 0.0 + pd
    results["verdict"] = (results["verdict"].dims, np.full(results["verdict"].shape, verdict, dtype=object))
    return Results(results)


def with_walks(score, *walked):
    return replace(score, walked=tuple((PLACE.place, walks, alarms) for walks, alarms in walked))


def test_a_refuted_place_that_meets_is_named(score):
    """3 of 6 refute 0.90 one-sided (upper limit 0.847) and their interval reaches 0.88. Catches: a contradiction left unsaid."""
    lines = disagreement_lines(with_walks(score, (6, 3)), results_with(0.97, "meets"))
    assert len(lines) == 2
    assert f", {PLACE.place}: 3 of six walks raised an alarm (0.50 (0.12 to 0.88), which" in lines[0]
    assert "refutes the requirement" in lines[0] and lines[0].endswith("there, meets.")
    assert "every segment to be one that nobody walked" in lines[1]
    assert client_disagreement_lines(with_walks(score, (6, 3)), results_with(0.97, "meets")) == [
        "At one place the walks speak against what the simulation says of that place."
    ]


@pytest.mark.parametrize(
    ("walks", "alarms", "pd", "verdict", "said"),
    [
        (6, 6, 0.97, "meets", False),
        (6, 5, 0.97, "meets", False),  # 0.36 to 0.996: holds 0.97
        (20, 15, 0.93, "undecided", True),  # 0.51 to 0.913: wholly below
        (20, 15, 0.90, "undecided", False),
        (20, 15, 0.40, "weak", False),  # better than the run: no warning
        (6, 3, 0.85, "undecided", False),  # refuted, but nothing says that it meets
        (6, 3, float("nan"), "no data", False),
    ],
)
def test_only_what_contradicts_is_named(score, walks, alarms, pd, verdict, said):
    """Catches: an alarm of chance, walks that are better, segments without data."""
    assert bool(disagreements(with_walks(score, (walks, alarms)), results_with(pd, verdict))) == said


def test_other_weather_and_no_score_say_nothing(score):
    """Catches: walks of a clear night held against fog."""
    other = replace(with_walks(score, (6, 0)), held=replace_weather(score, "fog"))
    assert disagreements(other, results_with(0.97, "meets")) == [] and disagreement_lines(None, results_with(0.9, "meets")) == []


def replace_weather(score, name):
    return score.held.model_copy(update={"weather": (name,)})


def test_walked_places_are_not_said_to_have_a_narrower_band():
    """Catches: words that let walked segments seem to be known better."""
    assert UNWALKED.startswith("Every metre is judged by the wider interval")
