"""A rehearsed log is read back by its plan, says that nobody walked, and has the shares of alarms that its N50 gives."""

from __future__ import annotations

import datetime

import pytest

from fencecast.prove.log.read import read_log
from fencecast.prove.walks.rehearse import rehearse
from fencecast.prove.walks.rehearsed import REHEARSAL
from prove.invented_walks import invented_plan

DATE = datetime.date(2026, 11, 20)


def _walks(tmp_path, plan, **keys):
    path = tmp_path / "log.csv"
    path.write_text(rehearse(plan, date=DATE, **keys), encoding="utf-8", newline="")
    return read_log(path, plan).walks


def test_every_walk_is_read_back_and_says_that_nobody_walked(tmp_path):
    plan = invented_plan()
    walks = _walks(tmp_path, plan, cycles_50=1.0, correlation=0.3)
    assert [walk.trial for walk in walks] == [trial.trial for trial in plan.trials][: len(walks)]
    assert {walk.note for walk in walks} == {REHEARSAL}


def test_a_harder_n50_gives_fewer_alarms_and_the_same_arguments_the_same_text(tmp_path):
    plan = invented_plan(rounds=12).model_copy(update={"claims": ()})
    plan = plan.model_copy(update={"trials": tuple(trial.model_copy(update={"claim": None}) for trial in plan.trials)})
    easy = sum(walk.alarm for walk in _walks(tmp_path, plan, cycles_50=1.0, correlation=0.3, seed=3))
    hard = sum(walk.alarm for walk in _walks(tmp_path, plan, cycles_50=8.0, correlation=0.3, seed=3))
    assert easy > 0.9 * len(plan.trials) > 2 * hard
    assert rehearse(plan, cycles_50=2.6, correlation=0.3, seed=5, date=DATE) == rehearse(
        plan, cycles_50=2.6, correlation=0.3, seed=5, date=DATE
    )


def test_a_claim_that_failed_is_not_walked_on(tmp_path):
    """One claim of 36 walks without a miss: the first miss ends it."""
    walks = _walks(tmp_path, invented_plan(), cycles_50=8.0, correlation=0.0)
    assert [walk.alarm for walk in walks].count(False) == 1 and not walks[-1].alarm


def test_an_n50_out_of_range_is_refused():
    with pytest.raises(ValueError, match="N50"):
        rehearse(invented_plan(), cycles_50=0.0, correlation=0.3, date=DATE)
