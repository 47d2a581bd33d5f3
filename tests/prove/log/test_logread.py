"""What a log becomes: walks in order, clocks, midnight, walks beyond the cards, cards not walked, alarms outside walks."""

from __future__ import annotations

import datetime
import random
from dataclasses import replace

import pytest

from fencecast.errors import InputError
from fencecast.prove.log.read import read_log
from fencecast.prove.log.walked import Walker
from fencecast.prove.walks.planfile import Trial
from fencecast.prove.walks.tables import log_file
from prove.invented_walks import invented_plan
from prove.walk_logs import log_rows, write_log

PLAN = invented_plan(rounds=1)


def read(tmp_path, rows, plan=PLAN, walkers=None):
    return read_log(write_log(tmp_path / "log.csv", rows), plan, walkers)


def special(rows, trial, **cells):
    return {**dict.fromkeys(rows[0], ""), "trial": trial, "date": "2026-11-29", **cells}


def test_a_walk_is_what_its_row_says(tmp_path):
    rows = log_rows(PLAN)
    rows[2] |= {"W": "yes", "E": "no", "depth_m": "2,5", "air_c": "-1.5", "note": "slow"}
    log = read(tmp_path, rows, walkers={"A": Walker("A", 1.8), "B": Walker("B", 1.7)})
    walk = log.walks[2]
    assert (walk.trial, walk.place, walk.gait, walk.direction, walk.walker) == (3, "front 15", "walk", "in", "A")
    assert walk.heard == {"W": "yes", "E": "no"} and walk.pattern(("W", "E")) == (1, 0)
    assert (walk.kind, walk.claim, walk.control, walk.weather) == ("K3", "C1", False, "clear night")
    assert (walk.depth_m, walk.conditions, walk.note, walk.row, walk.void) == (2.5, {"air_c": -1.5}, "slow", 4, "")
    assert log.not_walked == () and log.clock_s is None and log.unit_s == 1.0
    assert log.watch_h == pytest.approx(((log.walks[-1].crossed - log.walks[0].crossed).total_seconds() - 12 * 20) / 3600)


def test_the_order_of_rows_changes_nothing(tmp_path):
    rows = log_rows(PLAN)
    first = read(tmp_path, rows)
    mixed = read(tmp_path, random.Random(3).sample(rows, len(rows)))
    assert [replace(walk, row=0) for walk in mixed.walks] == [replace(walk, row=0) for walk in first.walks]
    assert (mixed.watch_h, mixed.warnings) == (first.watch_h, first.warnings)


def clocks(rows, start="21:50:00", end="23:50:00", late=("3", "3.5")):
    def moved(text, seconds):
        moment = datetime.datetime.strptime(text, "%H:%M:%S") + datetime.timedelta(seconds=float(seconds))
        return moment.strftime("%H:%M:%S.%f")[:10]

    return [special(rows, "clock", crossed=t, recorder=moved(t, s)) for t, s in zip((start, end), late, strict=True)]


def test_times_of_alarms_by_the_callers_clock(tmp_path):
    rows = log_rows(PLAN)
    rows[0] |= {"crossed": "22:50:00", "W": "22:50:04", "E": "no"}
    rows[1] |= {"crossed": "22:51:00", "W": "22:50:59", "E": "yes"}
    log = read(tmp_path, rows + clocks(rows))
    # Half way between the checks the recorder is 3.25 s ahead.
    by_trial = {walk.trial: walk for walk in log.walks}
    assert by_trial[1].heard == {"W": pytest.approx(0.75), "E": "no"}
    assert by_trial[2].heard["W"] == pytest.approx(-4.254, abs=1e-3)
    assert log.clock_s == (pytest.approx(3.0), pytest.approx(0.25))


@pytest.mark.parametrize(
    ("alarm", "accepted"), [("21:59:55", True), ("21:59:54.9", False), ("22:00:15", True), ("22:00:15.1", False)]
)
def test_the_window_of_a_walk(alarm, accepted, tmp_path):
    rows = log_rows(PLAN)
    rows[0] |= {"crossed": "22:00:00", "W": alarm}
    rows += clocks(rows, late=("0", "0"))
    if accepted:
        assert isinstance(read(tmp_path, rows).walks[0].heard["W"], float)
    else:
        with pytest.raises(InputError):
            read(tmp_path, rows)


def test_a_recorder_an_hour_ahead_is_no_fault(tmp_path):
    rows = log_rows(PLAN)
    rows[0] |= {"crossed": "22:00:01", "W": "23:00:03"}
    assert read(tmp_path, rows + clocks(rows, late=("3600", "3600"))).walks[0].heard["W"] == pytest.approx(2.0)


def test_midnight(tmp_path):
    rows = log_rows(PLAN)
    rows[0] |= {"date": "2026-11-29", "crossed": "23:59:58", "W": "00:00:01", "E": "no"}
    for number, row in enumerate(rows[1:], start=1):
        row |= {"date": "2026-11-30", "crossed": f"00:{number:02d}:00"}
    rows[1] |= {"W": "23:59:57", "crossed": "00:00:01"}
    rows[2]["crossed"] = "00:00:30"
    late = clocks(rows, "23:30:00", "23:30:00", ("0", "0"))
    with pytest.raises(InputError, match=r"crossed 3 s apart"):
        read(tmp_path, rows + late)
    rows[1]["crossed"], rows[1]["W"] = "00:01:00", "no"
    log = read(tmp_path, rows + late)
    assert log.walks[0].trial == 1 and log.walks[0].heard["W"] == pytest.approx(3.0)
    assert not any("of one date" in text for text in log.warnings)


def test_a_walk_beyond_the_cards(tmp_path):
    rows = log_rows(PLAN)
    rows.append({**rows[-1], "trial": "13", "place": "front 9", "gait": "walk", "crossed": "22:59:00"})
    rows.append({**rows[-1], "trial": "14", "gait": "run", "crossed": "22:59:40"})
    log = read(tmp_path, rows)
    assert [(walk.trial, walk.kind, walk.claim) for walk in log.walks[-2:]] == [(13, "K1", None), (14, None, None)]


def test_against_the_rules_direction_a_walk_is_a_control(tmp_path):
    out = PLAN.kinds[0].model_copy(update={"kind": "K13", "direction": "out"})
    plan = PLAN.model_copy(
        update={"kinds": (*PLAN.kinds, out), "trials": (*PLAN.trials, Trial(trial=13, kind="K13", round=1, control=True))}
    )
    rows = log_rows(plan)
    rows.append({**rows[-1], "trial": "14", "crossed": "23:30:00"})
    log = read(tmp_path, rows, plan)
    assert [walk.control for walk in log.walks[-3:]] == [False, True, True]
    assert [walk.trial for walk in log.counted] == list(range(1, 13))


@pytest.mark.parametrize(("heard", "control"), [("both", False), ("in", True), (None, True)])
def test_a_free_walk_out_is_a_control_only_where_no_rule_hears_it(tmp_path, heard, control):
    """Catches: an alarm called a fault, and left out of the fit, where an area or a line for both ways is right to alarm."""
    rows = log_rows(PLAN)
    rows.append({**rows[-1], "trial": "13", "direction": "out", "crossed": "23:30:00"})
    rows.append({**rows[-1], "trial": "14", "direction": "in", "crossed": "23:32:00"})
    log = read(tmp_path, rows, PLAN.model_copy(update={"heard": heard}))
    assert [walk.control for walk in log.walks[-2:]] == [control, False] and len(log.counted) == 14 - control


def test_cards_that_nobody_walked(tmp_path):
    rows = log_rows(PLAN)
    for row in rows[6:8]:
        row |= {"crossed": "", "W": "", "E": ""}
    assert read(tmp_path, rows).not_walked == (7, 8)
    # A miss without its crossing is no card left out.
    for heard in ({"W": "no", "E": "no"}, {"W": "no", "E": ""}, {"W": "", "E": "yes"}):
        with pytest.raises(InputError, match=r"row 9 crossed is missing"):
            read(tmp_path, [*rows[:7], rows[7] | heard, *rows[8:]])


def test_the_log_of_a_plan_as_it_is_printed_has_only_cards_that_nobody_walked(tmp_path):
    path = tmp_path / "log.csv"
    path.write_bytes(log_file(PLAN))
    with pytest.raises(InputError, match="no walk counts: 0 walked, 0 void"):
        read_log(path, PLAN)


def test_cameras_that_are_not_expected_there_have_their_no_already(tmp_path):
    kinds = tuple(kind.model_copy(update={"pd_camera": {"W": 0.5}, "patterns": {"": 0.5, "W": 0.5}}) for kind in PLAN.kinds)
    plan = PLAN.model_copy(update={"kinds": kinds})
    path = tmp_path / "log.csv"
    path.write_bytes(log_file(plan))
    lines = path.read_text(encoding="utf-8").splitlines()
    assert lines[2].split(",")[7:9] == ["", "no"]
    lines[2] = lines[2].replace(",in,A,,,,no", ",in,A,2026-11-29,22:00:01,yes,no")
    path.write_text("\n".join(lines), encoding="utf-8")
    log = read_log(path, plan)
    assert [walk.trial for walk in log.walks] == [1] and log.not_walked == tuple(range(2, 13))


def test_a_row_that_no_camera_is_expected_in(tmp_path):
    """Its cells are all printed: the date says whether somebody began to fill it in."""
    kinds = tuple(kind.model_copy(update={"pd_camera": {}, "patterns": {"": 1.0}}) for kind in PLAN.kinds)
    plan = PLAN.model_copy(update={"kinds": kinds})
    rows = log_rows(plan)
    rows[4] |= {"crossed": "", "date": "", "W": "no", "E": "no"}
    assert read(tmp_path, rows, plan).not_walked == (5,)
    rows[4]["date"] = "2026-11-29"
    with pytest.raises(InputError, match=r"row 6 crossed is missing"):
        read(tmp_path, rows, plan)


def test_a_void_walk_needs_no_cameras(tmp_path):
    rows = log_rows(PLAN)
    rows[3] |= {"void": "Other Person", "W": "", "E": ""}
    walk = read(tmp_path, rows).walks[3]
    assert (walk.void, walk.counts, walk.heard) == ("other person", False, {"W": "off", "E": "off"})


def test_alarms_outside_walks(tmp_path):
    rows = log_rows(PLAN)
    rows += clocks(rows, late=("3", "3"))
    rows.append(special(rows, "alarm", recorder="22:45:03", W="yes"))
    rows.append(special(rows, "alarm", E="22:50:03", W="no"))
    rows.append(special(rows, "ALARM", crossed="22:55:00", W="yes", E="yes"))
    rows.append(special(rows, "alarm", recorder=rows[5]["crossed"], W="yes"))
    rows.append(special(rows, "alarm"))
    log = read(tmp_path, rows)
    assert [(each.moment.strftime("%H:%M:%S"), each.mark) for each in log.outside] == [
        ("22:45:00", "W"), ("22:50:00", "E"), ("22:55:00", "E"), ("22:55:00", "W"),
    ]  # fmt: skip
    assert any("Row 19: the alarm of camera W lies in the window of a walk" in text for text in log.warnings)
    # From 21:50 to 23:50, without twelve windows.
    assert log.watch_h == pytest.approx(2.0 - 12 * 20 / 3600)


def test_two_nights_are_two_watches(tmp_path):
    rows = log_rows(PLAN)
    one = read(tmp_path, rows).watch_h
    for row in rows[6:]:
        row["date"] = "2026-12-03"
    assert 0.0 < read(tmp_path, rows).watch_h < one


def test_units_of_reading(tmp_path):
    rows = log_rows(PLAN)
    for row in rows:
        row["crossed"] += ".5"
    assert read(tmp_path, rows).unit_s == 0.1
    rows[0]["W"] = "22:00:03"
    assert read(tmp_path, rows + clocks(rows, late=("0", "0"))).unit_s == 1.0
    for number, row in enumerate(rows):
        row |= {"crossed": f"22:{number:02d}:00", "W": "no"}
    assert read(tmp_path, rows).unit_s == 60.0
