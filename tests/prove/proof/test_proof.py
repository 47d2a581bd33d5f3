"""What belongs together: plan, score, calibration and cameras as built, held against each other and against results."""

from __future__ import annotations

import hashlib

import pytest

from fencecast.errors import FencecastError
from fencecast.prove.proof.proof import read_proof
from fencecast.prove.walks.planfile import write_plan
from fencecast.site import parse_site
from prove.invented_walks import SITE
from report import invented_proof as invented

TEXT = SITE.read_text(encoding="utf-8")


def proof(files, text=TEXT):
    return read_proof(parse_site(text), hashlib.sha256(text.encode()).hexdigest(), **files)


def said(files, text=TEXT) -> str:
    with pytest.raises(FencecastError) as caught:
        proof(files, text)
    assert caught.value.exit_code == 2
    return str(caught.value)


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    return invented.files(tmp_path_factory.mktemp("proof"))


def only(files, *names):
    return {name: files[name] for name in names}


def test_files_of_the_planned_site_belong(files):
    """Catches: a file that is left out, a plan of this very site called changed."""
    found = proof(files)
    assert found.plan_is_of == "planned" and found.calibrated_by_score
    assert found.score is not None and found.fit is not None and found.built is not None


def test_results_of_the_calibrated_and_of_the_built_site_belong(files):
    """Their fingerprints are others; fences, obstacles, rules and cameras are what was walked."""
    assert proof(files, invented.calibrated_text()).plan_is_of == "calibrated"
    other = invented.calibrated_text(decision="cycles_50 = 2.58\nthreshold_sigma = 4.0")
    assert proof(files, other).plan_is_of == "changed"
    built = f'{TEXT}\n[built]\ndate = "2026-11-30"\nmarks_sha256 = "{invented.MARKS_SHA256}"\n'
    built = built.replace("aim_m = [24.0, 3.0]", "bearing_deg = 88.0\ndepression_deg = 9.0\nroll_deg = 1.0")
    assert proof(files, built).plan_is_of == "built"
    assert proof(only(files, "built"), built).built is not None


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("[46.0, 0.0]]", "[47.0, 0.0]]", "its fences ([[perimeter]]) are not those of the results"),
        ("offset_m = 1.5", "offset_m = 2.5", "its rules ([[rule]]) are not those of the results"),
        ('mark = "E"', 'mark = "F"', "its cameras are W, E, those of the results W, F"),
    ],
)
def test_a_plan_of_another_site_is_refused(files, old, new, words):
    """Catches: predictions of one yard in the report of another."""
    text = said(only(files, "walk_plan"), TEXT.replace(old, new))
    assert words in text and "type the plan of this site, or results of the site that was walked" in text


def test_a_score_asks_for_its_plan(files):
    assert "names its claims by their plan: type --walk-plan PLAN.json as well" in said(only(files, "score"))


def test_a_calibration_belongs_by_its_plan_or_by_its_logs(files, tmp_path):
    """Catches: the N50 of another site, believed because nothing asked."""
    alone = only(files, "calibration")
    assert "cannot be held against these results, whose site has no [calibration]" in said(alone)
    assert proof(alone, invented.calibrated_text()).fit is not None
    other = invented.calibrated_text(log_sha256="77" * 32)
    assert "rests on other logs than the [calibration] of the results" in said(alone, other)
    plan = invented.write(tmp_path / "plan.json", write_plan(invented.plan_of(title="Another title")))
    assert "is of another plan" in said({"walk_plan": plan, "calibration": files["calibration"]})


def test_cameras_as_built_belong_by_design_or_by_marks(files, tmp_path):
    """Catches: bearings of another yard's cameras with the same names."""
    other = invented.write(tmp_path / "b.json", invented.built_object("88" * 32))
    assert "is of another site file: neither the site of the results nor their [built] marks" in said({"built": other})
    names = invented.write(tmp_path / "n.json", invented.built_object("88" * 32, cameras=[
        {**invented.built_object("")["cameras"][0], "mark": "Z9"}]))  # fmt: skip
    assert "it has cameras Z9, the results have E, W" in said({"built": names})


def test_problems_of_all_files_are_in_one_report(files, tmp_path):
    """Catches: one file at a time."""
    damaged = invented.write(tmp_path / "c.json", invented.fit_object(invented.plan_of(), log_sha256=[]))
    other = invented.write(tmp_path / "b.json", invented.built_object("88" * 32))
    text = said({"walk_plan": tmp_path / "none.json", "calibration": damaged, "built": other, "score": files["score"]})
    assert text.startswith("files of the proof: 3 problems")
    assert "none.json cannot be read" in text and "names no log" in text and "is of another site file" in text
