"""What a scored walk test says: two questions with two answers, claims, what it holds for; as sentences and as JSON."""

from __future__ import annotations

import json

import pytest

from fencecast.cautions import CAUTION
from fencecast.cli.output import plain
from fencecast.findings.blocks import words_of
from fencecast.findings.walkscore import score_blocks, score_object
from fencecast.findings.walkscorewords import claims_title, first_answer, p_text, prediction_title, second_answer
from fencecast.findings.words import plural
from fencecast.prove.log.read import read_log
from fencecast.prove.score.score import score_log
from prove.invented_walks import invented_plan
from prove.score.scored_logs import curve_plan, world
from prove.walk_logs import log_rows, write_log

PLAN = curve_plan(invented_plan())
NEVER = ("secure", " safe ", "detects", "covers", "guaranteed", "told", "hangs on")


def scored(tmp_path, plan=PLAN, change=lambda rows: rows, seed=1, patterns=lambda kind: kind.patterns, prior=None, **more):
    log = read_log(write_log(tmp_path / "log.csv", change(log_rows(plan, seed, patterns))), plan)
    return score_log(plan, "f" * 64, log, prior=prior, **more)


def said(score) -> str:
    return words_of(score_blocks(score))


def test_agreement_and_what_so_many_walks_cannot_see(tmp_path):
    score = scored(tmp_path)
    found = score.prediction
    text = said(score)
    assert f"{found.alarms} of 36 walks raised an alarm, {found.expected_alarms:.1f} were predicted" in text
    assert f"The walks agree with it ({p_text(found.p)})" in text
    assert "36 walks could not see a change of N50 by less than 26 %" in text
    assert "with N50 and correlation as uncertain as the plan says? Not asked." in text
    assert (
        prediction_title(found)
        == f"The walks agree with the prediction ({p_text(found.p)}); 36 could not see a change of N50 by less than 26 %"
    )


def prior():
    return [{kind.kind: world(PLAN, n, r)(kind) for kind in PLAN.kinds} for n in (0.8, 1.2, 2.0, 3.0, 4.5) for r in (0.2, 0.7)]


def test_two_questions_have_two_answers(tmp_path):
    worse = scored(tmp_path, patterns=world(PLAN, 2.9, 0.3), prior=prior())
    first, second = first_answer(worse.prediction), second_answer(worse.prediction, True)
    assert first.startswith("Is the prediction as printed right? No: ")
    assert f"cameras alarmed less often than predicted, {worse.prediction.camera_alarms} times where" in first
    assert "Yes (p = " in second and "another N50 explains it; fencecast walk fit says which." in second
    assert prediction_title(worse.prediction).startswith("Fewer alarms than predicted: ")
    broken = scored(tmp_path, patterns=lambda kind: {"": 0.95, "W+E": 0.05}, prior=prior())
    assert "look for a fault of a camera, the recorder or the site" in second_answer(broken.prediction, True)
    better = scored(tmp_path, patterns=world(PLAN, 1.0, 0.3))
    assert "more often than predicted" in first_answer(better.prediction)
    assert prediction_title(better.prediction).startswith("More alarms")
    assert "ask the one that made it" in second_answer(better.prediction, False)


def with_claims(stops_by_place):
    claims, trials = [], []
    for place, stops in stops_by_place.items():
        kinds = tuple(kind.kind for kind in PLAN.kinds if kind.place == place)
        name = f"C{len(claims) + 1}"
        claims.append(
            PLAN.claims[0].model_copy(update={"claim": name, "of": "place", "where": place, "kinds": kinds, "stops": stops})
        )
        trials += [
            PLAN.trials[0].model_copy(update={"trial": len(trials) + k + 1, "kind": kinds[k % 2], "claim": name})
            for k in range(stops[-1])
        ]
    return PLAN.model_copy(update={"claims": tuple(claims), "trials": tuple(trials)})


LADDERS = with_claims({"front 9": (6, 9), "front 15": (6, 9), "front 21": (6, 9), "front 27": (6, 9)})


def four_verdicts(rows):
    for row in rows:
        row |= {"W": "yes", "E": "yes"}
    for number in (10, 19, 20, *range(28, 34)):
        rows[number - 1] |= {"W": "no", "E": "no"}
    return rows[:17] + rows[18:]


def test_the_weaker_of_two_cameras_on_one_post_alone_is_named(tmp_path):
    """Catches: a no whose cause is that the model holds two cameras of one post to see alike; the cause said without one."""
    nested = [kind.model_copy(update={"pd_camera": {"W": 0.6, "E": 0.95}, "patterns": {"": 0.05, "E": 0.35, "W+E": 0.6}})
              for kind in PLAN.kinds]  # fmt: skip
    plan = PLAN.model_copy(update={"kinds": tuple(nested)})
    alone = scored(tmp_path, plan, patterns=lambda kind: {"": 0.05, "W": 0.3, "W+E": 0.65}).prediction
    count = alone.no_chance["W without E"]
    assert set(alone.no_chance) == {"W without E"} and 3 < count < 20
    said = first_answer(alone)
    assert f"W without E in {plural(count, 'walk')}" in said and "two cameras on one post" in said
    few = scored(tmp_path, plan, patterns=lambda kind: {"": 0.6, "E": 0.2, "W+E": 0.2}).prediction
    assert not few.no_chance and "on one post" not in first_answer(few) and "right? No: " in first_answer(few)


def test_claims_one_by_one(tmp_path):
    score = scored(tmp_path, LADDERS, four_verdicts)
    assert [each.judged.verdict for each in score.claims] == ["shown", "walk on", "not shown", "refuted"]
    assert claims_title(score) == "One of four claims shown, one walk on, one not shown, one refuted"
    text = said(score)
    assert "C2: walk on to 9; 8 are walked and 1 missed." in text
    assert "C1: three walks came after the rung that showed it, 0 of them missed" in text
    assert "Intervals: verdict by the ladder, interval by the count." in text
    assert "Each claim holds by itself at its confidence, not all of them at once." in text
    assert not score.shown


def test_no_claim_shown_and_none_made(tmp_path):
    none = scored(tmp_path, patterns=lambda kind: {"": 1.0})
    assert claims_title(none) == "6 places of front: refuted, 36 misses in 36 walks"
    plan = PLAN.model_copy(update={"claims": (), "trials": tuple(t.model_copy(update={"claim": None}) for t in PLAN.trials)})
    score = scored(tmp_path, plan)
    assert not score.shown and claims_title(score).startswith("The walks were made to learn N50, not to pass")
    assert said(score)


def test_voids_controls_and_cards_left(tmp_path):
    def change(rows):
        for number in (2, 5):
            rows[number - 1]["void"] = "animal"
        rows[8]["void"] = "fell"
        rows[11] |= {"crossed": "", "W": "", "E": ""}
        return rows

    text = said(scored(tmp_path, change=change))
    assert "Three walks are void (2 animal and 1 fell); counting each as a miss changes" in text
    assert "One card not walked: 12." in text
    assert "C1: card 12 left out though later ones were walked" in text


def test_what_it_holds_for_is_said_with_the_caution(tmp_path):
    score = scored(tmp_path)
    text = said(score)
    assert (
        "All this holds for 2026-11-29, clear night, two walkers (A, B), crouch and walk, as walked: from the inside foot" in text
    )
    for words in (
        "no climb", "Two walkers at least, and two nights where it matters", "a caller who knows sees more",
        "Intruders may hide; walkers did not", "The list of weak places is for those who need it", CAUTION,
    ):  # fmt: skip
        assert words in text
    assert not any(word in text.lower() for word in NEVER)


def test_the_json_has_what_is_promised(tmp_path):
    found = json.loads(json.dumps(plain(score_object(scored(tmp_path, latest_s=2.0))), allow_nan=False))
    assert {
        "title", "version", "plan_sha256", "log_sha256", "caution", "walks", "void", "claims", "prediction", "places", "delay",
        "alarms_outside_per_hour", "warnings",
    } <= set(found)  # fmt: skip
    assert {"claim", "n", "misses", "low_one_sided", "low", "high", "verdict", "next_rung", "verdict_voids_missed"} <= set(
        found["claims"][0]
    )
    prediction = found["prediction"]
    assert {"expected_alarms", "alarms", "p_total", "log_score", "p_log_score", "p_within_prior", "replicates"} <= set(prediction)
    assert {"from", "to", "n", "alarms", "band_low", "band_high"} <= set(prediction["groups"][0])
    assert set(found["places"][0]) == {"place", "n", "alarms", "pd", "p", "p_holm"}
    assert (found["schema"], found["walks"], found["delay"], len(found["log_sha256"])) == (1, 36, None, 64)


@pytest.mark.parametrize(
    ("p", "text"), [(0.0002, "p < 0.001"), (0.0311, "p = 0.031"), (0.0994, "p = 0.099"), (0.0996, "p = 0.10"), (1.0, "p = 1.00")]
)
def test_p_values(p, text):
    assert p_text(p) == text
