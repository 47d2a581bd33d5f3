"""Sentences about what was proved: right for the files that make a sentence go wrong, silent about places where they must be."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from fencecast.findings import provedstretch, provedtest
from fencecast.findings.blocks import words_of
from fencecast.findings.provedbuilt import built_finding, camera_blocks, client_built_finding
from fencecast.findings.provedplan import client_claims, client_plan_finding, easiest_sentence, plan_blocks
from fencecast.findings.provedstretch import loss_sentence, metres_by_side, stretch_blocks, stretches
from fencecast.findings.provedtest import (
    client_finding,
    client_line,
    client_prediction_lines,
    fit_lines,
    log_lines,
    n50_sentence,
    void_sentence,
)
from fencecast.findings.walkscore import score_object
from fencecast.prove.proof.builtfile import BuiltPart
from fencecast.prove.proof.fitfile import FitPart
from fencecast.prove.proof.proof import Proof
from fencecast.prove.proof.scorefile import read_score
from fencecast.prove.walks.planfile import plan_sha256, write_plan
from report import invented_proof as invented

PLAN = invented.plan_of()


@pytest.fixture(scope="module")
def score(tmp_path_factory):
    data = json.loads(json.dumps(score_object(invented.score_of(PLAN))))
    path = invented.write(tmp_path_factory.mktemp("score") / "score.json", data)
    return read_score(path, PLAN, plan_sha256(write_plan(PLAN)))


def fit(**changes):
    return FitPart.model_validate(invented.fit_object(PLAN, **changes))


def built(**changes):
    return BuiltPart.model_validate(invented.built_object(PLAN.site_sha256, **changes))


def test_the_head_counts_walks_that_count_and_verdicts(score):
    """Catches: void walks counted, `no of two`."""
    line = provedtest.tested_line(Proof(plan=PLAN, score=score))
    assert line == "Walk test of 35 walks in clear night: none of two claims shown, one walk on, one not shown."
    assert provedtest.tested_line(Proof()) == "" and provedtest.tested_finding(Proof()) == ""


def test_the_client_hears_verdicts_without_a_place(score):
    """Catches: where a claim is, in the edition that is passed on."""
    proof = Proof(plan=PLAN, score=score)
    assert client_finding(proof) == "None of two claims shown, one walk on, one not shown."
    one = replace(score, score=replace(score.score, claims=score.score.claims[1:]))
    assert client_finding(replace(proof, score=one)) == "One place: walk on to 39, no misses in six walks."
    assert "front" in provedtest.tested_finding(replace(proof, score=one))
    said = provedtest.tested_line(replace(proof, score=one))
    assert said == "Walk test in clear night; front 39: walk on to 39, no misses in six walks."
    assert client_line(replace(proof, score=one)) == "Walk test in clear night; one place: walk on to 39, no misses in six walks."
    assert client_claims(PLAN) == [
        ("1", "five places together", "30", "0", "12 %"),
        ("2", "one place", "39 / 53 / 65", "0 / 1 / 2", "12 %"),
    ]
    said = " ".join([client_plan_finding(PLAN), *client_prediction_lines(score)])
    assert "front" not in said and "N50" not in said and "fencecast" not in said


def test_the_client_hears_what_so_few_walks_could_not_see(score):
    """Catches: an agreement without its power, in the edition that is passed on; a power beside a disagreement."""
    found = replace(score.score.prediction, p=0.4, walks=35, sees_change=0.26)
    lines = [client_prediction_lines(replace(score, score=replace(score.score, prediction=each)))[0]
             for each in (found, replace(found, sees_change=None), replace(found, p=0.01))]  # fmt: skip
    assert lines[0].endswith(
        "No disagreement was seen; 35 walks could not see one of less than 26 % in the detail of a person that a camera needs."
    )
    assert lines[1].endswith("That no disagreement was seen is all that they show.") and "could not" not in lines[2]


def test_void_walks_have_their_reason(score):
    assert void_sentence(score) == "One walk is void (1 animal); counting each as a miss changes no verdict."
    assert void_sentence(replace(score, void=0)) == "No walk is void."


def test_what_was_odd_ends_with_one_stop(score):
    lines = log_lines(replace(score, warnings=("one walker only", "all walks within 60 min.")))
    assert lines[-2:] == ["Warning: one walker only.", "Warning: all walks within 60 min."]


def test_n50_is_said_one_sided_where_a_log_tells_one_side():
    """Catches: a median of what is prior."""
    known = {"median": 1.2, "low": 0.6, "high": 1.43, "sd_ln": 0.26}
    assert n50_sentence(fit()).startswith(
        "N50 is 2.58 (2.16 to 3.09) resolved cycles, from 36 walks at 6 places by 2 walkers; before"
    )
    assert n50_sentence(fit(cycles_50={**known, "only_from_above": True})).startswith("N50 is at most 1.43 resolved cycles")
    assert n50_sentence(fit(cycles_50={**known, "only_from_below": True})).startswith("N50 is at least 0.60 resolved cycles")


def test_a_fit_says_what_it_cannot_and_whether_the_results_use_it(score):
    """Catches: a clean check of few walks praised; results without the calibration under its numbers."""
    proof = Proof(plan=PLAN, score=score, fit=fit())
    said = " ".join(fit_lines(proof, calibrated=False))
    assert "hardly anything of it" in said and "this log does not tell them" in said and "With fewer than 100 walks" in said
    assert said.endswith("run the site file that the fit wrote, and make the report of that.")
    proof = replace(proof, fit=fit(checks={"gait": 0.004}, log_sha256=["77" * 32], walks=300))
    said = " ".join(fit_lines(proof, calibrated=True))
    assert "does not follow the walks by gait (p = 0.004)" in said and said.endswith("The results of this report use it.")
    assert "The fit rests on other logs than the one that is scored here." in said
    known = {"mean": 0.3, "low": 0.1, "high": 0.4, "sd": 0.08, "known": True}
    assert "hardly" not in " ".join(fit_lines(replace(proof, fit=fit(encounter_correlation=known)), calibrated=True))


def test_every_kind_that_is_walked_has_its_prediction():
    """Catches: a kind that is left out, walks of another kind, a place without its code."""
    blocks = plan_blocks(PLAN, "planned")
    table = [block for block in blocks if hasattr(block, "columns")][1]
    assert len(table.rows) == len(PLAN.kinds)
    for row, kind in zip(table.rows, PLAN.kinds):
        walks = sum(trial.kind == kind.kind for trial in PLAN.trials)
        assert row[0].text == f"A {kind.place.split()[1]} m" and row[0].below == kind.place and row[3] == f"{walks}"
        assert row[4].startswith(f"{kind.pd:.2f} (") and row[5] == ", ".join(f"{m} {pd:.2f}" for m, pd in kind.pd_camera.items())
    assert "110 minutes" in words_of(blocks)


def test_a_camera_has_moved_when_its_marks_say_so_for_certain():
    """Catches: 0.4 of a degree with a half width of 0.7 called moved; a misfit given a pose."""
    assert built_finding(built()) == "Of two cameras that were measured one is not as designed, and one fits no pose."
    found = built(cameras=built().model_dump(mode="json")["cameras"][:1])
    assert built_finding(found) == "The one camera that was measured is not as designed."
    table = next(block for block in camera_blocks(built()) if hasattr(block, "columns"))
    assert table.rows[0][:5] == ("W", "−0.2 ±0.4", "+2.1 ±0.5", "+0.4 ±0.7", "−0.02 ±0.08")
    assert table.rows[1][1:5] == ("", "", "", "") and table.rows[1][5].text == "fits no pose"


def test_stretches_add_up_and_walks_stand_where_they_were_walked(score):
    """Catches: walks in the neighbour's row, walks of another weather, metres lost at a joint."""
    proof = Proof(plan=PLAN, score=score, built=built())
    every = stretches(proof, "clear night", 0.9)
    assert sum(each.metres for each in every) == pytest.approx(46.0)
    assert {(each.start_m, each.tested) for each in every if each.tested} == {
        (8.0, (5, 5)), (14.0, (6, 6)), (20.0, (5, 6)), (26.0, (6, 6)), (32.0, (6, 6)), (38.0, (6, 6))
    }  # fmt: skip
    design, as_built = metres_by_side(proof, "clear night", 0.9)
    assert design == {True: pytest.approx(36.0), False: pytest.approx(10.0)}
    assert as_built == {True: pytest.approx(32.0), False: pytest.approx(14.0)}
    said = words_of(stretch_blocks(proof, "clear night", 0.9))
    assert "A 16–20 m  0.85 (0.83 to 0.87)  0.75 (0.73 to 0.77)" in said and "A 20–22 m" in said and "nobody walked there" in said
    other = replace(proof, plan=PLAN.model_copy(update={"weather": "fog"}))
    assert not [each for each in stretches(other, "clear night", 0.9) if each.tested]


def test_walks_have_their_exact_interval():
    """6 of 6: 0.54 to 1.00. Of 12 all missed: to 0.26."""
    few, none = (provedstretch.tested_cell(tested, 0.95) for tested in ((6, 6), (0, 12)))
    assert few.text == "6 of 6 (0.54 to 1.00)" and none.text == "0 of 12 (0.00 to 0.26)"
    assert provedstretch.tested_cell(None, 0.95).text == ""


def test_the_largest_loss_by_aim_is_said_wherever_it_is(score):
    """Catches: a loss inside a stretch that does not touch its lowest metre, one that the crossings do not tell from none, a
    place in the client edition, a verdict from intervals that hold the crossings alone."""
    proof = Proof(plan=PLAN, score=score, built=built())
    data = built().model_dump(mode="json")
    segments = data["run"]["segments"]
    for each in segments:
        each["difference"] = {"mean": -0.001, "low": -0.01, "high": 0.01}
    segments[10]["difference"] = {"mean": -0.036, "low": -0.05, "high": -0.02}
    segments[18]["difference"] = {"mean": -0.09, "low": -0.20, "high": 0.02}
    hidden = replace(proof, built=BuiltPart.model_validate(data))
    assert loss_sentence(hidden) == "The largest loss of Pd by it is 0.04, at A 20–22 m in clear night."
    assert loss_sentence(hidden, places=False) == "The largest loss of Pd by it is 0.04."
    assert loss_sentence(replace(proof, built=built(run=None))) == ""
    segments[10]["difference"]["high"] = 0.001
    assert "No metre loses" in loss_sentence(replace(proof, built=BuiltPart.model_validate(data)))
    table = next(block for block in stretch_blocks(hidden, "clear night", 0.9) if hasattr(block, "columns"))
    assert ("−0.04", "A 20–22 m") in [(row[3].text, row[3].below) for row in table.rows]
    assert not {"meets", "weak", "undecided"} & set(
        words_of(stretch_blocks(hidden, "clear night", 0.9)).replace(".", " ").split()
    )
    assert client_built_finding(built()).startswith("Some cameras hang differently from the drawing")


def test_the_weather_of_the_test_is_called_the_easiest_where_it_was_chosen_so():
    """Catches: a class that somebody asked for called the easiest."""
    chosen = PLAN.model_copy(update={"weather_why": "the class in which walkers raise an alarm most often"})
    assert "the easiest" in easiest_sentence(chosen)
    assert easiest_sentence(PLAN.model_copy(update={"weather_why": "as asked for"})) == ""
