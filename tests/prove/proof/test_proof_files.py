"""Files of a walk test and of cameras as built: read as they were written; each damaged one refused with what to type."""

from __future__ import annotations

import json

import pytest

from fencecast.errors import FencecastError, InputError
from fencecast.findings.walkscore import score_object
from fencecast.prove.proof.builtfile import read_built
from fencecast.prove.proof.fitfile import read_fit
from fencecast.prove.proof.scorefile import read_score
from fencecast.prove.walks.planfile import plan_sha256, write_plan
from report import invented_proof as invented

PLAN = invented.plan_of()
SHA256 = plan_sha256(write_plan(PLAN))


def scored(folder, change=lambda data: None):
    data = json.loads(json.dumps(score_object(invented.score_of(PLAN))))
    change(data)
    return read_score(invented.write(folder / "score.json", data), PLAN, SHA256)


def said(read, *args) -> str:
    with pytest.raises(FencecastError) as caught:
        read(*args)
    assert caught.value.exit_code == 2
    return str(caught.value)


def test_a_score_comes_back_as_it_was_computed(tmp_path):
    """Catches: a number read into another's place, a claim without its plan, groups in another order."""
    own, read = invented.score_of(PLAN), scored(tmp_path)
    for mine, theirs in zip(own.claims, read.score.claims, strict=True):
        assert mine.claim == theirs.claim and mine.judged == theirs.judged
        assert mine.voids_missed.verdict == theirs.voids_missed.verdict
    assert own.prediction == read.score.prediction and own.places == read.score.places and own.delay == read.score.delay
    assert own.outside == read.score.outside
    assert (read.walks, read.void, read.void_reasons) == (35, 1, (("animal", 1),))
    counted = [walk for walk in own.log.walks if walk.counts]
    assert sum(n for _, n, _ in read.walked) == len(counted) and sum(a for *_, a in read.walked) == sum(w.alarm for w in counted)
    assert read.held.dates == ("2026-11-29",) and read.held.walkers == ("A", "B") and read.held.gaits == ("crouch", "walk")


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda d: d["claims"][0].update(misses=99), "claim C1: 99 misses in 29 walks"),
        (lambda d: d["claims"][1].update(misses=1), "claim C2: its interval is not that of 1 misses in 6 walks"),
        (lambda d: d["claims"][1].update(verdict="shown"), "claim C2: 0 misses in 6 walks is not shown by the rungs of the plan"),
        (lambda d: d["claims"][0].update(claim="C7"), "claim C7 is not in the plan, which has C1, C2"),
        (lambda d: d["claims"].append(dict(d["claims"][0])), "a claim stands in it twice"),
        (lambda d: d["walked"][0].update(place="back 9"), "place 'back 9' is not in the plan"),
        (lambda d: d["prediction"]["groups"][0].update(alarms=900), "counts 900 of"),
        (lambda d: d["prediction"].update(p_log_score=1.7), "prediction.p_log_score: Input should be less than or equal to 1"),
        (lambda d: d.update(plan_sha256="ab" * 32), "is of another plan (plan_sha256 begins abababab"),
        (lambda d: d.update(schema=2), "schema = 2 is not known: allowed is 1"),
        (lambda d: d.pop("prediction"), "is no score: prediction is missing; type --score and the file that"),
    ],
)  # fmt: skip
def test_a_score_that_was_changed_is_refused(tmp_path, change, words):
    """Catches: a verdict typed over, a count without its interval, a score of another plan."""
    text = said(scored, tmp_path, change)
    assert words in text and "score.json" in text


def test_all_problems_of_a_score_are_in_one_report(tmp_path):
    """Catches: mending one at a time."""

    def change(data):
        data["claims"][1].update(misses=1)
        data["walked"][0].update(place="back 9")

    text = said(scored, tmp_path, change)
    assert text.startswith(f"{tmp_path / 'score.json'}: 2 problems") and "write it anew with fencecast walk score -o" in text


def test_a_file_of_another_kind_is_named(tmp_path):
    """Catches: a key that is missing, where two files were exchanged."""
    fit = invented.write(tmp_path / "calibration.json", invented.fit_object(PLAN))
    plan = invented.write(tmp_path / "plan.json", write_plan(PLAN))
    assert "is a calibration, not a score: type it after --calibration" in said(read_score, fit, PLAN, SHA256)
    assert "is a walk plan, not a built: type it after --walk-plan" in said(read_built, plan)
    for read in (read_fit, read_built):
        assert "cannot be read: No such file or directory; type --" in said(read, tmp_path / "none.json")
        for text, words in (
            ("{", "is no JSON file"),
            ("[1]", "is no JSON object"),
            ("{}", "are missing"),
            ("[" * 99_999, "no JSON"),
        ):
            assert words in said(read, invented.write(tmp_path / "odd.json", text))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"cycles_50": {"median": 2.0, "low": 2.2, "high": 3.0, "sd_ln": 0.1}}, "median 2 does not lie between 2.2 and 3"),
        (
            {"cycles_50": {"median": float("nan"), "low": 2.2, "high": 3.0, "sd_ln": 0.1}},
            "cycles_50.median: Input",
        ),
        (
            {"encounter_correlation": {"mean": 0.4, "low": 0.8, "high": 0.1, "sd": 0.2, "known": True}},
            "low 0.8 lies above high 0.1",
        ),
        ({"log_sha256": []}, "log_sha256 names no log"),
    ],
)
def test_a_calibration_that_was_changed_is_refused(tmp_path, changes, words):
    """Catches: ends the wrong way round, numbers that are none."""
    assert words in said(read_fit, invented.write(tmp_path / "c.json", invented.fit_object(PLAN, **changes)))


def test_a_camera_twice_is_refused(tmp_path):
    data = invented.built_object(PLAN.site_sha256)
    data["cameras"].append(data["cameras"][0])
    with pytest.raises(InputError, match="camera W stands in it twice"):
        read_built(invented.write(tmp_path / "b.json", data))
