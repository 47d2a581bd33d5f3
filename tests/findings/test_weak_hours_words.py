"""Weak hours in words: which segment, how many hours, in which month and when on the clock; the same numbers as in --json."""

import numpy as np
import pytest

from fencecast.estimate.results import Results
from fencecast.findings.weakhours import time_words, weak_hours_summary, weak_hours_words, worst_time
from hours.hourly import run_hours, small_year


@pytest.fixture(scope="module")
def results():
    return run_hours(small_year(), count=48)


def with_weak(results, hours: np.ndarray, at: int = 2):
    """The results with Pd 0.5 in these hours at one segment and 0.99 in every other, the others 0.99 in all."""
    changed = results.copy(deep=True)
    counted = changed["hour_armed"].values & changed["hour_known"].values
    weak = counted & hours
    state = np.where(counted[:, None], np.where(weak[:, None], 0, 1), -1)
    changed["hour_state"] = (("hour", "option"), np.repeat(state, changed.sizes["option"], axis=1))
    weight = np.zeros(changed["hour_state_weight"].shape)
    weight[counted, 0] = 1.0
    changed["hour_state_weight"] = (("hour", "option"), weight)
    pd = np.full(changed["pd_state"].shape, 0.99)
    pd[0, at] = 0.5
    for end, by in (("", 0.0), ("_low", -0.005), ("_high", 0.005)):
        changed[f"pd_state{end}"] = (("state", "segment"), pd + by)
        counts = np.zeros(changed.sizes["segment"])
        counts[at] = weak.sum() + 1000 * by
        changed[f"weak_hours{end}"] = ("segment", counts)
        changed[f"weak_hours_fresh{end}"] = ("segment", np.where(np.arange(len(counts)) == at, counts, np.nan))
    return changed


def clock(results):
    return (results["hour_time"].values.astype("datetime64[h]") - results["hour_time"].values.astype("datetime64[D]")).astype(int)


def test_the_sentence_names_segment_hours_interval_month_and_clock(results):
    """Catches: numbers of another segment, clock hours that end an hour early, an interval that is not the printed number's."""
    weak = with_weak(results, np.isin(clock(results), (3, 4, 5, 6)))
    hours = int(weak["weak_hours"].values[2])
    sentences = weak_hours_words(Results.of(weak))
    known = float(weak["known_armed_hours"])
    assert sentences[0].startswith(f"The weakest segment, A 16–24 m, is below 0.90 in {hours} of {known:.0f} armed hours a year")
    interval = f"(95 % interval {hours - 5} to {hours + 5})"
    assert f"{interval}, most in January, half of those between 03:00 and 05:00 (standard time)." in sentences[0]
    assert "more armed hours are unknown" in sentences[-1]
    summary = weak_hours_summary(Results.of(weak))["weakest"]
    assert (summary["place"], summary["hours"], summary["month"]) == ("A 16–24 m", hours, 1)
    assert (summary["clock_from"], summary["clock_to"]) == (3, 5)


def test_hours_across_midnight_are_one_stretch(results):
    """Catches: a night torn at midnight."""
    weak = with_weak(results, np.isin(clock(results), (23, 0)))
    assert worst_time(Results.of(weak), 2) in [(1, 23, 0), (1, 0, 1)]
    assert worst_time(Results.of(with_weak(results, np.isin(clock(results), (22, 23, 0, 1)))), 2)[1:] in [
        (22, 0),
        (23, 1),
        (0, 2),
    ]


def test_even_nights_name_no_clock(results):
    """Weak in every armed hour: half of them fill half of the armed clock, wherever one begins. Catches: a stretch of the clock
    picked by chance and given as if it were news."""
    everywhere = with_weak(results, np.ones(results.sizes["hour"], dtype=bool))
    month, first, last = worst_time(Results.of(everywhere), 2)
    assert (month, first, last) == (1, None, None)
    at = clock(results)
    counted = results["hour_armed"].values & results["hour_known"].values
    late = np.isin(at, np.unique(at[counted])[:4])
    assert worst_time(Results.of(with_weak(results, late)), 2)[1] is not None


def test_a_short_record_is_given_in_its_own_hours(results):
    """The same hours as a record of a twentieth of a year. Catches: 20 winter days times twenty given as a year."""
    weak = with_weak(results, np.isin(clock(results), (3, 4, 5, 6)))
    hours, known = int(weak["weak_hours"].values[2]), float(weak["known_armed_hours"])
    for name in weak.data_vars:
        if str(name).startswith(("weak_hours", "armed_hours", "known_armed_hours")):
            weak[name] = weak[name] * 20.0
    sentence = weak_hours_words(Results.of(weak))[0]
    assert (
        f"is below 0.90 in {hours} of {known:.0f} armed hours of the record (95 % interval {hours - 5} to {hours + 5})"
        in sentence
    )
    assert weak_hours_summary(Results.of(weak))["record_years"] == pytest.approx(0.05)


def test_armed_hours_in_the_sun_carry_a_warning(results):
    """A quarter of the armed hours by day, then none. Catches: unarmed hours counted, a warning that is always or never there."""
    weak = with_weak(results, np.isin(clock(results), (3, 4, 5, 6)))
    counted = np.flatnonzero(weak["hour_armed"].values & weak["hour_known"].values)
    assert "Sun on clothing" not in " ".join(weak_hours_words(Results.of(weak)))
    sun = np.full(weak.sizes["hour"], 40.0)  # unarmed hours in the sun do not count
    sun[counted] = -5.0
    weak["hour_sun_elevation_deg"] = ("hour", sun.copy())
    assert "Sun on clothing" not in " ".join(weak_hours_words(Results.of(weak)))
    sun[counted[: len(counted) // 4]] = 25.0
    weak["hour_sun_elevation_deg"] = ("hour", sun)
    assert weak_hours_words(Results.of(weak))[-1].startswith(
        "In 25 % of these hours the sun is above 10 degrees. Sun on clothing"
    )


def test_no_weak_hour_is_said_plainly(results):
    """Catches: a month named for hours that are not there."""
    weak = with_weak(results, np.zeros(results.sizes["hour"], dtype=bool))
    for end in ("", "_low", "_high"):
        weak[f"weak_hours{end}"] = ("segment", np.zeros(5))
        weak[f"weak_hours_fresh{end}"] = ("segment", np.zeros(5))
    sentence = weak_hours_words(Results.of(weak))[0]
    assert "is not below 0.90 in any of" in sentence and "most in" not in sentence


def test_stretches_that_are_never_met_have_a_sentence_of_their_own(results):
    """The foot of the mast is weak in every hour: said by itself, so that the sentence is about a segment with weather.
    Catches: 'the weakest segment is below in every armed hour', which says nothing of the year."""
    sentences = weak_hours_words(Results.of(results))
    summary = weak_hours_summary(Results.of(results))
    assert summary["never_met"] and summary["weakest"]["place"] not in summary["never_met"]
    metres = f"{summary['never_met_m']:.0f} m of fence"
    assert sentences[0].startswith(f"{metres} are not shown to meet the requirement in any weather of the record: ")
    assert sentences[1].startswith(f"Of the rest, the weakest segment, {summary['weakest']['place']}, is below 0.90 in ")


@pytest.mark.parametrize(
    ("worst", "words"),
    [
        ((11, 3, 7), "most in November, half of those between 03:00 and 07:00 (standard time)"),
        ((1, 22, 2), "most in January, half of those between 22:00 and 02:00 (standard time)"),
        ((7, None, None), "most in July"),
        (None, ""),
    ],
)
def test_times_in_words(worst, words):
    """Catches: a month off by one, a stretch of most of the day given as if it were news."""
    assert time_words(worst) == words
