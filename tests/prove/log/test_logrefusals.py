"""Each refusal of a log, word by word: row, column, value, what is allowed, what to type."""

from __future__ import annotations

import pytest

from fencecast.errors import InputError
from fencecast.prove.log.read import check_logs, read_log
from fencecast.prove.log.walked import Walker
from prove.invented_walks import invented_plan
from prove.walk_logs import log_rows, write_log

PLAN = invented_plan(rounds=1)
HEARD = "no, yes, off, or the time of its first alarm"
PLACES = '"front 9", "front 15", "front 21", "front 27", "front 33", "front 39"'


def change(row: int, **cells: str):
    def work(rows):
        rows[row - 2] |= cells

    return work


def more(**cells: str):
    def work(rows):
        rows.append({**rows[-1], "crossed": "23:00:00", **cells})

    return work


def clocks(*pairs: tuple[str, str]):
    def work(rows):
        for crossed, recorder in pairs:
            rows.append(
                {**dict.fromkeys(rows[0], ""), "trial": "clock", "date": "2026-11-29", "crossed": crossed, "recorder": recorder}
            )

    return work


def both(*works):
    def work(rows):
        for each in works:
            each(rows)

    return work


GOOD_CLOCKS = clocks(("21:50:00", "21:50:03"), ("23:50:00", "23:50:03"))
REFUSALS = [
    (change(2, W=""), f"row 2 W is missing: {HEARD}; an empty cell does not mean no; type for instance no"),
    (change(2, W="maybe"), f'row 2 W = "maybe" is not allowed: {HEARD}; type for instance no'),
    (change(4, place="front 10"), f'row 4 place = "front 10" is not allowed: one of {PLACES}; type for instance front 15'),
    (
        change(2, gait="stroll"),
        'row 2 gait = "stroll" is not allowed: one of "walk", "run", "crouch", "crawl", "flat_crawl"; type for instance walk',
    ),
    (change(2, direction="inn"), 'row 2 direction = "inn" is not allowed: one of "in", "out"; type for instance in'),
    (
        change(2, weather="clear nigt"),
        'row 2 weather = "clear nigt" is not allowed: did you mean "clear night"? one of "clear night"; type for '
        'instance clear night',
    ),
    (change(2, trial="one"), 'row 2 trial = "one" is not allowed: the number on the card, a whole number from 1; clock; or '
        'alarm; '
        'type '
        'for instance 12'),
    (change(2, trial=""), "row 2 trial is missing: the number on the card, a whole number from 1; clock; or alarm; type for "
        "instance 12"),
    (
        change(3, trial="1", gait="walk"),
        'row 3 trial = "1" stands there twice: row 2 has this number already; a walk beyond the cards gets the '
        'next free one; type for '
        "instance 13",
    ),
    (
        change(2, gait="crouch"),
        'row 2 gait = "crouch" is not what the card says: card 1 says "walk"; number it past the last card if it '
        'was walked so; type for '
        "instance 13 for trial",
    ),
    (change(2, date="03/04/2026"), 'row 2 date = "03/04/2026" is not allowed: day and month cannot be known apart in this file: '
        'year '
        'first, '
        'then month and day; type for instance 2026-11-29'),
    (change(2, crossed="22:04"), 'row 2 crossed = "22:04" is not allowed: hours, minutes and seconds, HH:MM:SS or '
        'HH:MM:SS.s; the '
        'seconds '
        'are missing, or the hours are; type for instance 22:04:00'),
    (change(2, humidity="85"), 'row 2 humidity = "85" is not allowed: a number from 0 to 1 (a share, no percent); type for '
        'instance 0.85'),
    (change(2, void="tired"), 'row 2 void = "tired" is not allowed: one of "other person", "animal", "vehicle", "fell", "wrong '
        'place", '
        '"wrong gait", "recorder off"; type for instance other person'),
    (
        change(2, W="off"),
        'row 2 W = "off" is not allowed: claim C1 counts on this camera; walk it again beyond the cards, and this '
        'one is void; type for '
        "instance recorder off for void",
    ),
    (
        change(3, crossed="22:00:12"),
        "trials 1 and 2 (rows 2 and 3) crossed 11 s apart: at least 20 s, or nobody knows whose alarm it was; is "
        "a time or a date wrong?",
    ),
    (
        change(2, W="22:00:02"),
        "clock checks: 0 of 2; times of alarms need two rows at least with clock as trial, one at the start, one "
        "at the end; type yes for "
        "a time that nobody needs",
    ),
    (
        both(change(2, crossed="22:00:01", W="22:00:21"), GOOD_CLOCKS),
        'row 2 W = "22:00:21" is not allowed: an alarm from 5 s before the crossing to 15 s after it, and this '
        'one is 17.0 s after after '
        "correction of the clock; was it another's, or is a clock wrong?; type for instance no, and the alarm in "
        "a row of its own with "
        "alarm as trial",
    ),
    (
        clocks(("21:50:00", "21:50:03"), ("23:50:00", "23:50:05.5")),
        "the recorder's clock moved by 2.5 s between the clock checks (rows 14, 15): at most 2 s are taken; was "
        "one of them set, or "
        "misread? type yes for times of alarms",
    ),
    (clocks(("21:50:00", "")), "row 14 recorder is missing: the recorder's time at that moment: hours, minutes and seconds, "
        "HH:MM:SS or "
        "HH:MM:SS.s; type for instance 22:04:31"),
    (
        clocks(("21:50:00", "21:50:00"), ("21:55:00", "21:55:01")),
        "the clock checks (rows 14, 15) lie too close together: their drift would come to 5.5 s over the walks, and at most 2 s "
        "are taken; type one before the first walk, one after the last",
    ),
    (
        more(trial="alarm"),
        "row 14 is an alarm outside walks and no camera is marked: type yes for each that raised it",
    ),
]  # fmt: skip


def refused(tmp_path, work, walkers=None) -> list[str]:
    rows = log_rows(PLAN)
    for row in rows:
        row |= {"W": "no", "E": "yes"}
    rows[-1]["E"] = "no"
    rows[0]["crossed"], rows[1]["crossed"] = "22:00:01", "22:02:31"
    work(rows)
    with pytest.raises(InputError) as caught:
        read_log(write_log(tmp_path / "log.csv", rows), PLAN, walkers)
    assert str(caught.value).startswith(f"{tmp_path / 'log.csv'}: ")
    return [str(problem) for problem in caught.value.problems]


@pytest.mark.parametrize(("work", "words"), REFUSALS)
def test_refused_word_by_word(work, words, tmp_path):
    assert refused(tmp_path, work) == [words]


def test_all_problems_in_one_report(tmp_path):
    found = refused(
        tmp_path, both(change(5, W=""), change(2, gait="stroll"), change(3, crossed="x"), more(trial="13", place="y"))
    )
    assert [each.split(" ")[1] for each in found] == ["2", "3", "5", "14"]


def test_columns(tmp_path):
    def work(rows):
        for row in rows:
            row["gate"], row["dept_m"] = row.pop("gait"), row.pop("depth_m")
            del row["E"]

    found = refused(tmp_path, work)
    assert found[0].startswith('column "gate" is not known; did you mean "gait"? the columns are "trial", "place", "gait"')
    assert found[1].startswith('column "dept_m" is not known; did you mean "depth_m"?')
    assert found[2] == 'columns "gait", "E" missing: name them in the first line'


def test_more_fields_than_columns(tmp_path):
    path = write_log(tmp_path / "log.csv", log_rows(PLAN))
    lines = path.read_text(encoding="utf-8").split("\n")
    lines[1] = lines[1].rstrip("\r") + ",far, off"
    path.write_text("\n".join(lines), encoding="utf-8", newline="")
    with pytest.raises(InputError) as caught:
        read_log(path, PLAN)
    words = 'row 2 has more fields than there are columns ("far", "off"): put a text with commas in quotes'
    assert [str(each) for each in caught.value.problems] == [words]


def test_no_walk_that_counts(tmp_path):
    def work(rows):
        for row in rows:
            row["void"] = "animal"

    assert refused(tmp_path, work) == ["no walk counts: 12 walked, 12 void; type the log of a test"]


def test_a_walker_nobody_knows(tmp_path):
    walkers = {"A": Walker("A", 1.8)}
    found = refused(tmp_path, change(2, walker="A"), walkers)
    assert len(found) == 6
    assert found[0] == 'row 3 walker = "B" is not allowed: a walker of the walkers\' file: "A"; type for instance A'


def test_a_number_between_the_cards(tmp_path):
    plan = PLAN.model_copy(update={"trials": PLAN.trials[:5] + PLAN.trials[6:]})
    rows = log_rows(plan)
    rows.append({**rows[-1], "trial": "6", "crossed": "23:00:00"})
    with pytest.raises(InputError) as caught:
        read_log(write_log(tmp_path / "log.csv", rows), plan)
    words = (
        'row 13 trial = "6" is not allowed: the number of a card of the plan, or for a walk beyond the cards 13 '
        "and more; type for instance 13"
    )
    assert [str(each) for each in caught.value.problems] == [words]


def test_one_trial_of_one_date_in_two_logs(tmp_path):
    rows = log_rows(PLAN)
    one = read_log(write_log(tmp_path / "a.csv", rows), PLAN)
    rows[0]["note"] = "again"
    two = read_log(write_log(tmp_path / "b.csv", rows[:2]), PLAN)
    check_logs([one])
    with pytest.raises(InputError) as caught:
        check_logs([one, two, one])
    words = [str(each) for each in caught.value.problems]
    assert words[0] == f"{tmp_path}/b.csv row 2 trial 1 of 2026-11-29 stands in {tmp_path}/a.csv row 2 too: name each log once"
    assert words[2] == f"{tmp_path}/a.csv is the same log as {tmp_path}/a.csv: name it once"
