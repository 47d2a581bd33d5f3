"""`fencecast walk plan` as typed, over steps made by a rule of thumb: files, sentences, JSON, refusals, folders."""

import csv
import json
from pathlib import Path

import pytest
from command_line import CAUTION, errors_of, flat, typed

from fencecast.prove.walks import assembled, plan, testweather
from fencecast.prove.walks.planfile import read_plan
from fencecast.show.cards import deck
from fencecast.show.walk.chance import plot_walk_chance
from prove.invented_steps import invented_lines, invented_steps

SITE = Path(__file__).parents[1] / "data" / "proof" / "short-yard.toml"
FILES = ["cards.pdf", "chance.png", "log.csv", "manifest.json", "plan.json", "walk-plan.png", "walkers.csv"]


@pytest.fixture
def yard(monkeypatch, tmp_path):
    monkeypatch.setattr(plan, "CROSSINGS", 8)
    monkeypatch.setattr(plan, "simulate_walks", invented_steps)
    monkeypatch.setattr(testweather, "simulate_walks", invented_steps)
    monkeypatch.setattr(assembled, "walk_lines", invented_lines)
    monkeypatch.chdir(tmp_path)
    text = SITE.read_text(encoding="utf-8").replace("cycles_50 = 2.0", "cycles_50 = 0.7")
    (tmp_path / "yard.toml").write_text(text.replace('"front"', '"=front"'), encoding="utf-8")
    return tmp_path


def test_a_plan_is_written_whole_and_said_in_sentences(yard, monkeypatch):
    """Catches: a file that is missing, a must that is not said, numbers of the console that are not the plan's."""
    issues = []  # 60 cards take seconds to draw
    monkeypatch.setattr(deck, "plot_cards", lambda made, site, issue: issues.append(issue) or [plot_walk_chance(made)])
    ended = typed("walk", "plan", "yard.toml", "--issue", "B 2")
    assert (ended.code, errors_of(ended), issues) == (0, [], ["B 2"])
    folder = yard / "yard-walks"
    assert sorted(path.name for path in folder.iterdir()) == FILES
    made = read_plan(folder / "plan.json")
    said = flat(ended.out)
    assert f"36 walks at 6 places, {made.minutes:.0f} minutes, in clear night" in said
    assert "36 of 36 would show Pd 0.920, 35 0.875, 34 0.835 (one-sided, 95 %)" in said
    (right, _), (larger, wrong) = (made.claims[0].no_miss[0], made.claims[0].no_miss[1])
    assert right == 0.7 and larger == pytest.approx(0.91) and f"{wrong:.3f} at N50 0.91" in said
    assert f"C1 passes in {made.claims[0].chance.predicted:.3f} of tests if the prediction is right. What would raise it:" in said
    for must in (
        CAUTION, "A claim holds for this night, these walkers and these gaits, as walked, without a climb.",
        "Each claim is made by itself, not all at once", "N50 from these walks includes all that the law of resolution gets",
        "36 walks say hardly anything of how alike two cameras judge", "next to nothing of threshold and clutter",
        "every segment, walked or not, keeps the wider band", "Void walks are scored twice",
        "Write down who read the alarms, and whether he knew when walks came", "Intruders may hide; walkers on cards do not.",
        "The list of weak places is for those who need it.",
    ):  # fmt: skip
        assert must in said, must
    # The log: filled in but for results, and no text that a spreadsheet computes.
    rows = list(csv.reader((folder / "log.csv").read_text(encoding="utf-8").splitlines()))
    assert rows[0][:9] == ["trial", "place", "gait", "direction", "walker", "date", "crossed", "W", "E"]
    walks = [row for row in rows[1:] if row[0] != "clock"]
    assert len(rows) - len(walks) == 3 and len(walks) == len(made.trials) and all(len(row) == len(rows[0]) for row in rows)
    assert all(row[1].startswith("'=front ") for row in walks)
    for row, trial in zip(walks, made.trials):
        kind = made.kind_of(trial.kind)
        assert (row[0], row[2], row[3]) == (str(trial.trial), kind.gait, kind.direction)
        empty = ["" if trial.control or mark in kind.pd_camera else "no" for mark in ("W", "E")]
        assert [row[7], row[8]] == empty
    assert {row[7] for row in walks} == {"", "no"}  # some places no camera W sees
    assert (folder / "walkers.csv").read_text() == "walker,stature_m,clo,note\nA,,,\nB,,,\n"
    # Typed again: nothing is replaced unasked.
    again = typed("walk", "plan", "yard.toml")
    assert again.code == 2 and "yard-walks exists already" in again.err


def test_json_is_the_plan_without_the_sites_text(yard):
    """Catches: something else on standard output, keys that are not those of the file."""
    ended = typed("walk", "plan", "yard.toml", "-o", "out", "--walks", "4", "--json")
    found = json.loads(ended.out)
    file = json.loads((yard / "out" / "plan.json").read_text(encoding="utf-8"))
    assert ended.code == 0 and found.pop("files")[0].endswith("plan.json")
    assert found.pop("everywhere") == {"walks": 1334, "hours": 66.7, "planned_walks": 4, "planned_hours": 0.2}  # 23 x 2 x 29
    assert found == {key: value for key, value in file.items() if key != "site_toml"}


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--place", "=frnt 3"], 'Error: section "=frnt" of the place "=frnt 3" is not known: did you mean "=front"?'),
        (["--weather", "clear nigt"], 'Error: weather class "clear nigt" is not known: did you mean "clear night"?'),
        (["--minutes", "10"], "Error: minutes 10 is too short: set-up and one walk take "),
        (["--goal", "all"], 'Error: goal "all" is not known'),
    ],
)
def test_what_cannot_be_planned_ends_in_one_line_and_writes_nothing(yard, words, said):
    ended = typed("walk", "plan", "yard.toml", *words)
    (line,) = errors_of(ended)
    assert (ended.code, ended.out) == (2, "") and line.startswith(said)
    assert sorted(path.name for path in yard.iterdir()) == ["yard.toml"]
