"""The log as it is taken to the site: `no` stands only where a camera cannot see the walk; a card nobody walked is still none."""

from __future__ import annotations

import csv
import datetime

import pytest

from fencecast.prove.log.read import read_log
from fencecast.prove.walks.planfile import MOST_NAMED
from fencecast.prove.walks.tables import log_file
from prove.invented_walks import invented_plan


def rows_of(plan):
    return list(csv.DictReader(log_file(plan).decode("utf-8-sig").splitlines()))


@pytest.fixture(scope="module")
def plan():
    """Two kinds: one that E alone may hear, one control that nobody is expected to hear."""
    made = invented_plan(1)
    kinds = [kind.model_copy(update={"pd_camera": {"E": 0.4}, "patterns": {"": 0.6, "E": 0.4}}) for kind in made.kinds]
    kinds[1] = kinds[1].model_copy(update={"pd_camera": {}, "patterns": {"": 1.0}})
    trials = [trial.model_copy(update={"control": trial.kind == kinds[1].kind}) for trial in made.trials]
    return made.model_copy(update={"kinds": tuple(kinds), "trials": tuple(trials)})


def test_nothing_is_filled_in_that_nobody_looked_at(plan):
    """Catches: `no` for the cameras of a control, where an alarm is just what is looked for."""
    for row, trial in zip([each for each in rows_of(plan) if each["trial"] != "clock"], plan.trials, strict=True):
        assert (row["W"], row["E"]) == (("", "") if trial.control else ("no", ""))
    assert any(trial.control for trial in plan.trials)


def test_cameras_beyond_those_that_a_kind_names_are_empty():
    """A kind names its best eight cameras: of a ninth nothing is known."""
    made = invented_plan(1)
    marks = tuple(f"C{k}" for k in range(MOST_NAMED + 2))
    for named, expected in ((MOST_NAMED, ""), (MOST_NAMED - 1, "no")):
        kind = {"pd_camera": dict.fromkeys(marks[:named], 0.5)}
        many = made.model_copy(update={"marks": marks, "kinds": tuple(each.model_copy(update=kind) for each in made.kinds)})
        assert {row[marks[-1]] for row in rows_of(many) if row["trial"] != "clock"} == {expected}


def test_one_walk_typed_and_the_rest_as_printed(plan, tmp_path):
    """The reader takes the control and the walk that were walked, and no card that was not."""
    rows = [row for row in rows_of(plan) if row["trial"] != "clock"]
    at = next(k for k, trial in enumerate(plan.trials) if trial.control)
    scored = next(k for k, trial in enumerate(plan.trials) if not trial.control)
    rows[scored] |= {"date": "2026-11-29", "crossed": "21:50:10", "E": "yes"}
    rows[at] |= {"date": "2026-11-29", "crossed": "22:04:31", "W": "no", "E": "no"}
    with (tmp_path / "log.csv").open("w", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    first, walk = read_log(tmp_path / "log.csv", plan).walks
    assert first.trial == plan.trials[scored].trial and first.heard == {"W": "no", "E": "yes"}
    assert walk.trial == plan.trials[at].trial and walk.control and walk.heard == {"W": "no", "E": "no"}
    assert walk.crossed == datetime.datetime(2026, 11, 29, 22, 4, 31)
