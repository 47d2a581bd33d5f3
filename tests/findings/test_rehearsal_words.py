"""A rehearsal, which nobody walked, says so on every surface: consoles, files, pictures, results."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fencecast.errors import InputError
from fencecast.findings.blocks import words_of
from fencecast.findings.calibration import calibrated_line, rests_on_rehearsal
from fencecast.findings.provedtest import client_calibrated_lines
from fencecast.findings.rehearsal import NOBODY
from fencecast.findings.walkfit import fit_blocks, fit_object
from fencecast.findings.walkscore import score_blocks, score_object
from fencecast.prove.fit.calibrate import calibrated_text
from fencecast.prove.log.read import read_log
from fencecast.prove.score.score import score_log
from fencecast.prove.walks.rehearse import REHEARSAL
from fencecast.show.walk.fitdata import calibration_data
from fencecast.show.walk.scoredata import claims_data, predicted_observed_data
from fencecast.site import parse_site
from prove.fit.test_calibrate import fit_of_the_plan
from prove.invented_walks import invented_plan
from prove.walk_logs import log_rows, write_log
from show.fence.test_picture_walkband import FACTS

PLAN = invented_plan()


def scored(tmp_path, notes):
    log = read_log(write_log(tmp_path / "log.csv", notes(log_rows(PLAN, 1))), PLAN)
    return score_log(PLAN, "f" * 64, log)


def noted(rows, count, note=REHEARSAL):
    walked = [row for row in rows if row["trial"].isdigit()]
    for row in walked[:count]:
        row["note"] = note
    return rows


@pytest.mark.parametrize("count, note", [(36, REHEARSAL), (1, REHEARSAL), (2, f"{REHEARSAL}, gate open")])
def test_a_score_says_it_in_its_first_lines_its_file_and_its_pictures(tmp_path, count, note):
    """Catches: real walks mixed with one rehearsed, a note that somebody wrote on."""
    score = scored(tmp_path, lambda rows: noted(rows, count, note))
    assert words_of(score_blocks(score)[:2]).endswith(NOBODY)
    assert score_object(score)["rehearsal"] is True
    for data in (predicted_observed_data(score), claims_data(score)):
        assert data.subtitle.startswith("Rehearsal, nobody walked. ")


def test_walks_that_were_walked_say_nothing_of_it(tmp_path):
    score = scored(tmp_path, lambda rows: rows)
    assert "ehears" not in words_of(score_blocks(score)) and score_object(score)["rehearsal"] is False
    assert "ehears" not in predicted_observed_data(score).subtitle
    fit = fit_of_the_plan()
    assert "ehears" not in words_of(fit_blocks(fit)) and "rehearsal" not in calibrated_text(fit)
    assert fit_object(fit)["rehearsal"] is False and not rests_on_rehearsal({})


def test_a_fit_says_it_and_the_calibrated_site_carries_it_on():
    fit = fit_of_the_plan()
    logs = tuple(replace(log, rehearsal=True) for log in fit.question.logs)
    fit = replace(fit, question=replace(fit.question, logs=logs))
    assert words_of(fit_blocks(fit)[:2]).endswith(NOBODY) and fit_object(fit)["rehearsal"] is True
    assert calibration_data(fit).subtitle.startswith("Rehearsal, nobody walked. ")
    text = calibrated_text(fit)
    assert parse_site(text).calibration.rehearsal is True
    with pytest.raises(InputError, match="true or false"):
        parse_site(text.replace("rehearsal = true", 'rehearsal = "yes"'))


def test_results_of_a_rehearsal_are_not_calibrated_by_people():
    facts = FACTS | {"rehearsal": True}
    assert calibrated_line(facts).startswith("Calibrated by 36 simulated walks (a rehearsal: nobody walked) at 6 places in warm")
    assert "2 people" not in calibrated_line(facts) and "2026" not in calibrated_line(facts)
    assert "of a rehearsal, simulated" in client_calibrated_lines(facts)[0]
