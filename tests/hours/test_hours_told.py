"""What a few states tell of all hours against every state simulated by itself, on the same crossings: only the choice differs.

Three invented years of which nine hours in ten are foggy, so that Pd of an hour is anything from 0 to 1; the requirement goes
from 0.5 to 0.98, so that counts hang on many hours (37 of 117 counts by 24 of some 450 states are not exact, measured).
"""

from typing import NamedTuple

import numpy as np
import pytest

from fencecast.hours.representatives import Choice, Representatives, distinct_states, represent
from fencecast.hours.states import StatePd
from fencecast.hours.weakhours import HourCounts, count_hours, hour_weights, variation
from hours.hourly import SITE, every_state, run_hours, small_year
from meteorology.invented_year import invented_year

NEEDS = np.arange(0.50, 0.99, 0.04)
SEGMENTS = slice(2, 5)  # of five; the first is blind and the second sees nearly everybody in any hour
COUNT = 24


class Told(NamedTuple):
    """By 24 states: true and told, Pd (hours, segments); nearest, that of the nearest chosen state; sd, of the error of told."""

    true: np.ndarray
    told: np.ndarray
    nearest: np.ndarray
    sd: np.ndarray
    counts: list[HourCounts]  # by NEEDS


def hours_by_loops(year, pd_of_rows):
    """Pd of every counted hour, added up state by state."""
    rows = np.flatnonzero(year.counted[year.states.hour])
    pd = np.zeros((len(year.armed), pd_of_rows.shape[1]))
    np.add.at(pd, year.states.hour[rows], year.states.weight[rows, None] * pd_of_rows)
    return pd[year.counted]


def chosen_of(year, brute, need=0.9) -> tuple[Representatives, np.ndarray, StatePd]:
    """The representatives as a run chooses them, which of them is nearest to each counted row, and their Pd as if it had no
    error."""
    distinct = distinct_states(SITE, year)
    row = np.zeros(len(distinct.weights), dtype=int)
    row[distinct.member] = np.arange(len(distinct.member))
    choice = Choice(distinct, COUNT, 7)
    new = choice.first()
    while len(new):
        new = choice.further(brute[row[choice.rows]], need, 4)
    chosen, order = represent(distinct, choice.rows)
    at = choice.rows[order]
    away = np.linalg.norm(distinct.points[:, None] - distinct.points[at][None], axis=2)
    means = np.repeat(brute[row[at]][:, :, None], 8, axis=2)
    return chosen, away.argmin(axis=1)[distinct.member], StatePd(means, np.full(means.shape[:2], 1_000_000_000), 0)


@pytest.fixture(scope="module")
def years() -> list[Told]:
    found = []
    for seed in (4, 5, 6):
        year = invented_year(seed=seed, hours=480, fog_share=0.9, missing=10)
        brute = every_state(year)[:, SEGMENTS]
        chosen, nearest, pd = chosen_of(year, brute)
        known = pd.means[:, :, 0]
        found.append(
            Told(
                hours_by_loops(year, brute),
                np.clip(hour_weights(year, chosen, chosen.share)[year.counted] @ known, 0.0, 1.0),
                hours_by_loops(year, known[nearest]),
                hour_weights(year, chosen, chosen.unsure[:, None])[year.counted] * variation(chosen, pd),
                [count_hours(year, chosen, pd, need, 0.95) for need in NEEDS],
            )
        )
    return found


def weak(pd):
    """Hours below each requirement, (needs, segments)."""
    return np.array([(pd < need).sum(axis=0) for need in NEEDS])


def rms(values):
    return np.sqrt(np.mean(np.concatenate(values) ** 2, axis=0))


def test_hours_are_told_better_than_by_the_nearest_state(years):
    """Error of Pd below 0.75 of that by the nearest state in each segment, below half of it in all (measured: 0.26 to 0.53,
    0.33).

    Catches: kriging that tells no more than the nearest state, points at which likeness or signals are lost."""
    told, nearest = (rms([getattr(y, name) - y.true for y in years]) for name in ("told", "nearest"))
    assert nearest.min() > 0.003  # or nothing is to be told
    assert (told < 0.75 * nearest).all()
    assert rms([told]) < 0.5 * rms([nearest])


def test_hours_are_counted_better_than_by_the_nearest_state(years):
    """Error of the counts below 0.6 of that by the nearest state (measured: 0.39). Catches: the same, for what is printed."""
    found = [np.array([c.middle for c in y.counts]) - weak(y.true) for y in years]
    assert rms([rms(found)]) < 0.6 * rms([rms([weak(y.nearest) - weak(y.true) for y in years])])


def test_an_hours_interval_keeps_its_pd(years):
    """At 95 % in 95 % of hours and more, with a standard deviation of 0.7 to 3 times the error (measured: 98.5 %, 1.6 times).

    Catches: a part that is lost, of another segment, not scaled by how much its Pd varies, or so wide that it says nothing."""
    error, sd = (np.concatenate(rows) for rows in ([y.told - y.true for y in years], [y.sd for y in years]))
    assert (np.abs(error) <= 1.96 * sd + 1e-9).mean() >= 0.95
    ratio = rms([sd]) / rms([error])
    assert (ratio > 0.7).all() and (ratio < 3.0).all()


def test_counts_intervals_keep_the_counts(years):
    """95 % of the counts and more lie inside theirs; a quarter is not exact, so that without this part it would be 75 %
    (measured: 98 % kept, 32 % not exact), and the intervals are 30 hours wide at most on average (measured: 10).

    Catches: a choice that costs more than is said."""
    true = np.array([weak(y.true) for y in years])
    low, middle, high = (np.array([[getattr(c, end) for c in y.counts] for y in years]) for end in ("low", "middle", "high"))
    assert (middle != true).mean() > 0.25
    assert ((low <= true) & (true <= high)).mean() >= 0.95
    assert (high - low).mean() < 30.0


def test_blocks_change_nothing(monkeypatch):
    """Catches: hours or segments of one block put where another's belong, which only a record of years would show."""
    year = small_year(hours=120)
    whole = run_hours(year, count=8)
    monkeypatch.setattr("fencecast.hours.weakhours._BLOCK_HOURS", 7)
    monkeypatch.setattr("fencecast.hours.weakhours._BLOCK_CELLS", 1)
    parts = run_hours(year, count=8)
    for name in whole.variables:
        a, b = whole[name].values, parts[name].values
        assert a == pytest.approx(b, abs=1e-9, nan_ok=True) if a.dtype.kind == "f" else np.array_equal(a, b), name
