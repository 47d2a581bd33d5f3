"""Conditions on the hours: what they keep, what they refuse word by word, and that nothing in them is ever run as code."""

from dataclasses import replace

import numpy as np
import pytest

from cli.command_line import typed
from fencecast.errors import UsageError
from fencecast.meteorology.stress import FIELDS, conditioned, stress_counts, stress_mask
from meteorology.invented_year import invented_year

YEAR = invented_year(hours=24 * 60, fog_share=0.1)
M = YEAR.middle
TEXTS = [str(time) for time in YEAR.records.time]  # 2013-01-31T18:00:00
MONTH, CLOCK = np.array([int(text[5:7]) for text in TEXTS]), np.array([int(text[11:13]) for text in TEXTS])


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("visibility_m<=100", M["visibility_m"] <= 100),
        ("visibility_m>100", M["visibility_m"] > 100),
        ("  rain_mm_h>=1.5e0 ", M["rain_mm_h"] >= 1.5),
        ("ground_minus_air_k<-2", M["ground_minus_air_k"] < -2),
        ("month==2", (MONTH == 2) & ~np.isnan(M["wind_m_s"])),
        ("month!=2 and clock_hour<6", (MONTH != 2) & (CLOCK < 6)),
        ("visibility_m<=500 and wind_m_s<2 and month==1", (M["visibility_m"] <= 500) & (M["wind_m_s"] < 2) & (MONTH == 1)),
        ("rain_mm_h>2 or snow_mm_h>2", (M["rain_mm_h"] > 2) | (M["snow_mm_h"] > 2)),
        # `and` binds before `or`, parentheses before both.
        ("month==1 or month==2 and clock_hour<3", (MONTH == 1) | ((MONTH == 2) & (CLOCK < 3))),
        ("(month==1 or month==2) and clock_hour<3", ((MONTH == 1) | (MONTH == 2)) & (CLOCK < 3)),
        ("((clock_hour==3))", CLOCK == 3),
        ("sun_elevation_deg<-12", YEAR.sun_elevation_deg < -12),
    ],
)
def test_a_condition_keeps_the_hours_in_which_it_holds(text, expected):
    """Against NumPy's own comparisons. Catches: a sign turned round, `or` before `and`, a field mixed up, a month off by one."""
    expected = expected & (YEAR.known if "month" not in text and "clock" not in text and "sun" not in text else True)
    mask = stress_mask(YEAR, text)
    assert np.array_equal(mask & YEAR.known, expected & YEAR.known)
    assert 0 < (mask & YEAR.known).sum() < YEAR.known.sum()


def test_unknown_hours_never_hold():
    """Catches: != keeping hours whose value is NaN."""
    assert not stress_mask(YEAR, "visibility_m!=5")[~YEAR.known].any()
    assert not stress_mask(YEAR, "fog!=none")[~YEAR.known].any()


def test_fog_is_a_kind_by_name():
    """Against the states' own weights. Catches: codes shifted, the rarer kind taken."""
    radiation = np.bincount(YEAR.states.hour, weights=YEAR.states.weight * (YEAR.states.fog == 1), minlength=len(YEAR.armed))
    advection = np.bincount(YEAR.states.hour, weights=YEAR.states.weight * (YEAR.states.fog == 2), minlength=len(YEAR.armed))
    assert np.array_equal(stress_mask(YEAR, "fog==radiation"), (radiation >= advection) & (radiation > 0))
    assert np.array_equal(stress_mask(YEAR, "fog==none"), YEAR.known & (radiation + advection == 0))


def test_conditioning_disarms_and_keeps_the_rest():
    """Catches: hours armed that were not, states or counts changed with the condition."""
    kept = conditioned(YEAR, "visibility_m<=300")
    assert np.array_equal(kept.armed, YEAR.armed & (M["visibility_m"] <= 300))
    assert kept.states is YEAR.states and kept.period_years == YEAR.period_years
    assert stress_counts(YEAR, kept) == {"stress_hours": kept.counted.sum(), "stress_of_hours": YEAR.counted.sum()}
    twice, short = (replace(each, period_years=years) for each, years in ((YEAR, 2.0), (YEAR, 0.1)))
    assert stress_counts(twice, twice)["stress_of_hours"] == YEAR.counted.sum() / 2
    assert stress_counts(short, short)["stress_of_hours"] == YEAR.counted.sum()


BAD = [
    ("", "at character 1, the end: here stands a field of the hour: air_temperature_c"),
    (
        "visibilty_m<100",
        'at character 1, "visibilty_m": no such field; did you mean "visibility_m"?; fields are air_temperature_c',
    ),
    ("visibility_m=100", 'at character 13, "=": after visibility_m comes one of <= >= == != < >'),
    ("visibility_m<", "at character 14, the end: here stands a number in the field's unit"),
    ("visibility_m<100 m", 'at character 18, "m": here the condition ends or goes on with "and" or "or"; numbers stand without'),
    ("visibility_m<100 & rain_mm_h>1", 'at character 18, "&": here the condition ends'),
    ("100<visibility_m", 'at character 1, "100": here stands a field of the hour'),
    ("visibility_m<100 and", "at character 21, the end: here stands a field"),
    ("(visibility_m<100", "at character 18, the end: a parenthesis is open"),
    ("visibility_m<100)", 'at character 17, ")": here the condition ends'),
    ("visibility_m<rain_mm_h", 'at character 14, "rain_mm_h": here stands a number'),
    ("fog<radiation", 'at character 4, "<": fog is a kind, not a number'),
    ("fog==radiaton", 'at character 6, "radiaton": kinds of fog are "none", "radiation", "advection"; did you mean "radiation"?'),
    ("visibility_m<=1e400", 'at character 15, "1e400": an infinite number; here stands a finite one'),
    ("visibility_m<=nan", 'at character 15, "nan": here stands a number'),
    ("visibility_m<=-inf", 'at character 15, "-": here stands a number'),
    (
        "not visibility_m<=100",
        "a sign and a number (fog a kind), several are joined by and, or and parentheses; there is no not",
    ),
    ("0<visibility_m<=100", "no range in one (a<=FIELD<=b is FIELD>=a and FIELD<=b)"),
    ("visibility_m>0<100", "no range in one (a<=FIELD<=b is FIELD>=a and FIELD<=b)"),
    ("__import__('os').system('true')", 'at character 1, "__import__": no such field'),
    ("(" * 30 + "month==1" + ")" * 30, "more than 20 parentheses inside each other"),
]


@pytest.mark.parametrize(("text", "words"), BAD)
def test_a_condition_that_cannot_be_read_is_one_clear_report(text, words):
    """Catches: a traceback, a place that is off, no hint of what to type."""
    with pytest.raises(UsageError) as caught:
        stress_mask(YEAR, text)
    message = str(caught.value)
    assert message.startswith(f'stress condition "{text}" is not allowed: ') and words in message
    assert 'type for instance "' in message and caught.value.exit_code == 2


@pytest.mark.parametrize("text", [case for case, _ in BAD])
def test_what_a_report_proposes_can_be_typed(text):
    """Catches: an example that is itself refused."""
    with pytest.raises(UsageError) as caught:
        stress_mask(YEAR, text)
    stress_mask(YEAR, str(caught.value).rsplit('type for instance "', 1)[1].removesuffix('"'))


def test_nothing_left_is_an_error_not_an_empty_year():
    """Catches: a run over no hours, and its divisions by zero."""
    with pytest.raises(UsageError, match=r'"visibility_m<1" leaves none of the [\d,]+ armed hours'):
        conditioned(YEAR, "visibility_m<1")


def test_every_field_can_be_asked_for():
    """Catches: a field that is named in the list and cannot be read."""
    for field in FIELDS:
        stress_mask(YEAR, "fog==none" if field == "fog" else f"{field}>=0")


@pytest.mark.parametrize("empty", ["", "  "])
def test_an_empty_condition_that_was_typed_is_refused(empty):
    """Catches: the whole year without a word, for a shell variable that was never set."""
    ended = typed("run", "no-site.toml", "--stress", empty)
    assert ended.code == 2 and ended.out == ""
    assert "is empty (a shell variable without a value?); type a condition" in ended.err and "or leave --stress out" in ended.err
    assert "no-site.toml" in typed("run", "no-site.toml").err, "without the option the next thing is looked at"
