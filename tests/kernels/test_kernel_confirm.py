"""m hits in the last n looks, exactly: against the enumeration of all outcomes and the model's printed values."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from fencecast.kernels import confirm

PAIRS = [(m, n) for n in range(1, 9) for m in range(1, n + 1)]


def enumerated(p, m, n, armed):
    """P(an armed look up to each look is confirmed), shape (looks,), by listing all outcomes of all looks."""
    looks = len(p)
    outcomes = np.array(list(itertools.product((0, 1), repeat=looks)), dtype=np.int64)
    weight = np.prod(np.where(outcomes, p, 1.0 - np.asarray(p)), axis=1)
    total = np.cumsum(np.hstack([np.zeros((len(outcomes), n)), outcomes]), axis=1)
    recent = total[:, n:] - total[:, :-n]  # hits in the last n looks; none before the first
    confirmed = np.maximum.accumulate((recent >= m) & np.asarray(armed, dtype=bool), axis=1)
    return weight @ confirmed


@pytest.mark.parametrize(("p", "wanted"), [(0.5, (0.50000, 0.81836, 0.97766)), (0.3, (0.16308, 0.39168, 0.67942))])
def test_printed_values(p, wanted):
    """Catches any slip in the chain. Source: the model's printed values for 3 of 5 within 5, 10 and 20 looks (five digits)."""
    for looks, value in zip((5, 10, 20), wanted):
        assert confirm.confirm_probability(np.full(looks, p), 3, 5, np.ones(looks, np.bool_)) == pytest.approx(value, abs=5e-6)


@pytest.mark.parametrize(("m", "n"), PAIRS)
def test_general_chain_against_enumeration(m, n):
    """Catches a bit shifted the wrong way, the oldest outcome kept or lost, a confirming look that must itself be a hit, hits
    before an armed look forgotten. Source: all 1,024 outcomes of ten looks, random chances, random armed looks. 1e-13:
    rounding."""
    random = np.random.default_rng(100 * n + m)
    for armed_share in (1.0, 0.5, 0.2):
        p = random.random(10) ** random.choice([0.3, 1.0, 3.0])
        armed = random.random(10) < armed_share
        found = confirm.confirm_probability(p, m, n, armed)
        assert found == pytest.approx(enumerated(p, m, n, armed)[-1], abs=1e-13)


def test_confirmation_without_a_hit_at_the_end_by_hand():
    """Catches an alarm that asks the confirming look to be a hit. By hand: hits at looks 0, 1, 2, armed only at 4 (confirmed)
    or only at 5 (two hits left)."""
    p = np.array([1.0, 1.0, 1.0, 0.0, 0.0, 0.0])
    for look, wanted in ((4, 1.0), (5, 0.0)):
        armed = np.arange(6) == look
        assert confirm.confirm_probability(p, 3, 5, armed) == wanted


def laid_out(random, looks):
    """Random armed looks of a rule or two, the looks needed for 3 of 5, random active looks, random buckets."""
    armed = np.zeros(looks, np.uint8)
    for _ in range(random.integers(1, 4)):
        a = random.integers(0, looks)
        armed[a : a + random.integers(1, 6)] = 1
    needed = armed.copy()
    for back in range(1, 5):
        needed[: looks - back] |= armed[back:]
    bucket_of = np.full(looks, -1, np.int64)
    count = 0
    for position, look in enumerate(np.flatnonzero(armed)):
        count += position > 0 and random.random() < 0.6  # a new alarm time
        bucket_of[look] = count
    return armed, needed, bucket_of, count + 1


def test_straight_line_chain_against_enumeration():
    """Catches a slip in any of its 16 histories, gaps that carry hits over, alarms booked too early or too late, inactive
    looks that count. Source: all 4,096 outcomes of twelve looks, cumulative at every bucket's end. Looks that are not needed
    keep their chance in the enumeration: it must not matter. 1e-12: rounding, and the chain's own stop at 1 - 1e-12."""
    random = np.random.default_rng(71)
    gaps = 0
    for case in range(150):
        armed, needed, bucket_of, buckets = laid_out(random, 12)
        passes = random.random(12) ** random.choice([0.05, 0.5, 2.0])
        if case % 5 == 0:
            passes = np.round(passes)  # certain hits and misses
        active = (random.random(12) < 0.8).astype(np.uint8)
        alarm = np.zeros(buckets + 1)
        first, last = np.flatnonzero(needed)[[0, -1]]
        found = confirm.chain_3_of_5(passes, active, needed, armed, bucket_of, first, last, alarm)
        wanted = enumerated(np.where(active, passes, 0.0), 3, 5, armed)
        assert found == pytest.approx(wanted[-1], abs=2e-12)
        ends = [np.flatnonzero(bucket_of == b)[-1] for b in range(buckets)]
        assert np.cumsum(alarm)[:buckets] == pytest.approx(wanted[ends], abs=2e-12)
        assert alarm[buckets] == 0.0  # nothing written beyond
        gaps += not needed[first : last + 1].all()
    assert gaps > 10


def test_reset_keeps_the_chance_of_no_alarm():
    """Catches probability lost in a gap. Conservation."""
    state = np.array([0.1, 0.2, 0.05, 0.15])
    confirm.reset_chain(state, 2)
    assert state == pytest.approx([0.5, 0.0, 0.0, 0.0])


@pytest.mark.parametrize(("m", "n"), PAIRS)
def test_best_confirmed_cycles(m, n):
    """Catches an m-th largest off by one, looks before the first, unarmed looks. Source: for every threshold that occurs, the
    looks at or above it are sure hits; the largest threshold whose hits confirm an armed look."""
    random = np.random.default_rng(7 * n + m)
    for _ in range(25):
        cycles = np.round(random.random(14) * 4.0, 1) * (random.random(14) < 0.8)  # ties and zeros
        armed = (random.random(14) < 0.4).astype(np.uint8)
        first, last = int(random.integers(0, 3)), int(random.integers(8, 14))
        wanted = 0.0
        for threshold in sorted(set(cycles[first : last + 1]) - {0.0}):
            hits = (cycles >= threshold) & (np.arange(14) >= first)
            for look in range(first, last + 1):
                if armed[look] and hits[max(0, look - n + 1) : look + 1].sum() >= m:
                    wanted = max(wanted, threshold)
        assert confirm.confirmed_cycles(cycles, m, n, first, last, armed) == wanted
