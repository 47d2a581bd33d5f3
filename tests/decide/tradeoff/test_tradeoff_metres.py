"""Metres at the requirement: counts by hand, their error against repeated worlds, the weakest tenth without luck."""

import numpy as np
import pytest

from fencecast.decide.tradeoff.alarms import alarms_apart
from fencecast.decide.tradeoff.metres import metres_of, resampled_metres, weakest_of
from show.invented_tradeoffs import nights

LENGTHS = np.array([1.0, 2.0, 1.0, 0.5])


def cells(pd) -> np.ndarray:
    """Scramblings that all have these means: (settings, classes, segments, 8)."""
    return np.repeat(np.array(pd, dtype=float)[..., None], 8, axis=3)


def test_metres_are_counted_in_every_class_and_by_class():
    """Catches: metres of the best class, unwatched metres counted, the requirement taken as exclusive."""
    nan = np.nan
    each = cells([[[0.95, 0.90, 0.2, nan], [0.91, 0.95, 0.95, nan]], [[0.95, 0.89, 0.95, nan], [0.5, 0.95, 0.95, nan]]])
    found = metres_of(each, 128, LENGTHS, 0.90, 0.95)
    assert found.meets.tolist() == [3.0, 1.0]
    assert found.by_class.tolist() == [[3.0, 4.0], [2.0, 3.0]]
    # Without a spread between scramblings the floor of rare crossings is what leaves a metre open: 3.1 / 128.
    assert found.low.tolist() == [0.0, 1.0] and found.high.tolist() == [3.0, 3.0]
    assert found.half.tolist() == [[0.0, 0.0], [0.0, 0.0]]


def worlds(random, count: int, pd, spread) -> np.ndarray:
    """Many worlds of two settings that share most of their noise: (worlds, settings, 1 class, segments, 8)."""
    shared = random.normal(0, spread, (count, 1, 1, len(pd), 8))
    own = random.normal(0, 0.3 * spread, (count, 2, 1, len(pd), 8))
    return np.array(pd)[None, None, None, :, None] + np.array([0.0, -0.01])[None, :, None, None, None] + shared + own


def test_the_error_of_a_difference_is_that_of_repeated_worlds():
    """Two settings on shared noise, 400 worlds: the resampled error is their spread within a fifth, and narrower than unpaired.

    Catches: an error of eight scramblings that is too small, settings resampled apart from each other.
    """
    random = np.random.default_rng(5)
    pd = np.linspace(0.86, 0.94, 120)
    lengths = np.ones(120)
    many = worlds(random, 400, pd, 0.05)
    counts = (many.mean(axis=4) >= 0.90).sum(axis=(2, 3))
    truth = np.std(counts[:, 1] - counts[:, 0])
    halves = np.array([metres_of(world, 128, lengths, 0.90, 0.95).half[0, 1] for world in many[:12]]) / 1.959964
    assert halves.mean() == pytest.approx(truth, rel=0.2)
    single = np.std(counts[:, 0]) * np.sqrt(2.0)
    assert halves.mean() < 0.8 * single
    assert np.array_equal(resampled_metres(many[0], lengths, 0.9), resampled_metres(many[0], lengths, 0.9))


def test_the_weakest_tenth_by_hand():
    """Catches: a tenth of the segments instead of the metres, the mean over classes instead of the worst."""
    lengths = np.array([1.0, 1.0, 10.0, 8.0])
    each = cells([[[0.9, 0.3, 0.5, 0.8], [0.1, 0.4, 0.6, 0.9]]])
    tenth, weakest = weakest_of(each, lengths)  # 2 m of 20: both short segments, in their worst classes
    assert tenth.tolist() == pytest.approx([0.5 * (0.1 + 0.3)]) and weakest.tolist() == pytest.approx([0.1])
    tenth, _ = weakest_of(each, np.array([1.0, 0.5, 10.0, 8.5]))  # 2 m of 20: half a metre of the next one
    assert tenth.tolist() == pytest.approx([(0.1 * 1.0 + 0.3 * 0.5 + 0.5 * 0.5) / 2.0])


def test_the_weakest_tenth_is_not_the_luck_of_the_lowest():
    """All metres alike: the weakest tenth has their Pd. Catches: chosen and read on the same crossings (0.03 low)."""
    random = np.random.default_rng(2)
    each = 0.5 + random.normal(0, 0.05, (30, 6, 160, 8))
    tenth, weakest = weakest_of(each, np.ones(160))
    assert tenth.mean() == pytest.approx(0.5, abs=0.003) and weakest.mean() == pytest.approx(0.5, abs=0.01)


def test_what_all_settings_share_drops_out():
    """Rates that are off by a common factor do not blur which setting has fewer alarms; other causes and other encounters do.

    Catches: two intervals laid side by side, the error of encounters forgotten, s and t exchanged.
    """
    base, less = nights(5.0), nights(4.9)
    assert alarms_apart([base, less], 0.95)[0].tolist() == [[False, True], [False, False]]
    assert not alarms_apart([base, nights(4.9, causes=(0.2, 0.8))], 0.95)[0].any()
    assert not alarms_apart([base, nights(4.9, scatter=0.02)], 0.95)[0].any()


def test_no_more_alarms_needs_the_whole_interval_inside_the_margin():
    """As many by count: no more where the change ends below 5 %, or below one alarm in 200 nights. Catches: an estimate alone."""
    base = nights(5.0)

    def no_more(other, than=base) -> bool:
        return bool(alarms_apart([than, other], 0.95)[1][0, 1])

    assert no_more(nights(5.0)) and no_more(nights(5.2)) and not no_more(nights(5.3))
    assert no_more(nights(5.0, scatter=0.01)) and not no_more(nights(5.0, scatter=0.04))
    assert not no_more(nights(5.0, causes=(0.2, 0.8)))
    assert no_more(nights(0.002), than=nights(1e-9)) and not no_more(nights(0.1), than=nights(0.0))
