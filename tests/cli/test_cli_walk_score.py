"""`fencecast walk score`: tables, JSON, files, exit codes; nothing is simulated here."""

import json

import pytest
from command_line import flat, typed

from fencecast.prove.walks.planfile import write_plan
from prove.invented_walks import invented_plan
from prove.walk_logs import log_rows, write_log

PLAN = invented_plan()


@pytest.fixture
def files(tmp_path):
    plan = tmp_path / "plan.json"
    plan.write_text(write_plan(PLAN), encoding="utf-8")
    rows = log_rows(PLAN)
    for row in rows:
        row |= {"W": "yes"}
    return str(plan), str(write_log(tmp_path / "log.csv", rows)), tmp_path


def score(*words):
    return typed("walk", "score", *words, "--quick")


def test_what_the_command_says(files):
    plan, log, folder = files
    ended = score(plan, log, "-o", str(folder / "out"), "--require")
    assert ended.code == 0, ended.err
    assert "6 places of front: shown, no misses in 36 walks." in flat(ended.out)
    assert sorted(path.name for path in (folder / "out").iterdir()) == [
        "claims.png", "manifest.json", "predicted-observed.png", "score.json",
    ]  # fmt: skip
    kept = json.loads((folder / "out" / "score.json").read_text(encoding="utf-8"))
    ended = score(plan, log, "--json")
    found = json.loads(ended.out)
    assert ended.err == "" and found == kept and "files" not in found
    assert found["claims"][0]["verdict"] == "shown" and found["claims"][0]["low_one_sided"] == pytest.approx(0.9202, abs=5e-5)


def test_require_and_force(files):
    plan, log, folder = files
    rows = log_rows(PLAN)
    for row in rows[:5]:
        row |= {"W": "no", "E": "no"}
    missed = str(write_log(folder / "missed.csv", rows))
    assert score(plan, missed, "--require").code == 3
    assert score(plan, missed).code == 0
    out = str(folder / "out")
    assert score(plan, missed, "-o", out).code == 0
    again = score(plan, missed, "-o", out)
    assert (again.code, "exists already; add --force" in again.err) == (2, True)
    assert score(plan, missed, "-o", out, "--force").code == 0


def test_bad_input_is_one_report_and_writes_nothing(files):
    plan, _, folder = files
    rows = log_rows(PLAN)
    rows[0]["W"], rows[3]["gait"] = "", "stroll"
    ended = score(plan, str(write_log(folder / "bad.csv", rows)), "-o", str(folder / "out"))
    assert (ended.code, ended.out) == (2, "") and not (folder / "out").exists()
    assert "bad.csv: 2 problems" in ended.err and "row 2 W is missing" in ended.err and "Traceback" not in ended.err


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("none.json", "{log}"), "none.json cannot be read"),
        (("{log}", "{log}"), "is no JSON file: type the path of a plan.json that walk plan wrote"),
        (("{plan}", "none.csv"), "none.csv: cannot be read: No such file or directory"),
        (("{plan}", "{log}", "--walkers", "{log}"), 'column "stature_m" missing'),
        (("{plan}", "{log}", "--latest", "0"), "latest 0 is not allowed: seconds above 0 and up to 15; type for instance 2"),
    ],
)
def test_refusals(words, says, files):
    plan, log, _ = files
    ended = score(*(word.format(plan=plan, log=log) for word in words))
    assert ended.code == 2 and says in flat(ended.err), ended.err


def test_walkers_are_checked(files):
    plan, log, folder = files
    people = folder / "walkers.csv"
    people.write_text("walker,stature_m\nA,1.8\n", encoding="utf-8")
    assert "a walker of the walkers' file" in flat(score(plan, log, "--walkers", str(people)).err)
    people.write_text("walker,stature_m\nA,1.8\nB,1.7\n", encoding="utf-8")
    assert score(plan, log, "--walkers", str(people)).code == 0


def test_without_a_claim_there_is_no_picture_of_claims_and_the_next_step_is_said(tmp_path):
    """Catches: a picture that says only that there is nothing in it, an end without a next step."""
    trials = tuple(trial.model_copy(update={"claim": None}) for trial in PLAN.trials)
    bare = PLAN.model_copy(update={"claims": (), "trials": trials})
    (tmp_path / "plan.json").write_text(write_plan(bare), encoding="utf-8")
    words = str(tmp_path / "plan.json"), str(write_log(tmp_path / "log.csv", log_rows(bare)))
    ended = score(*words)
    assert "Nothing written; -o DIR keeps it." in flat(ended.out) and "Next: fencecast walk fit" in flat(ended.out)
    ended = score(*words, "-o", str(tmp_path / "out"))
    assert ended.code == 0 and "Nothing written" not in ended.out, ended.err
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["manifest.json", "predicted-observed.png", "score.json"]
