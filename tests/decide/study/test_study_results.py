"""Differences over yards, ranks and their uncertainty, from invented pieces; scipy and statsmodels are the outside side."""

import numpy as np
import pytest
import scipy.stats
from statsmodels.stats.multitest import multipletests

from decide.study.study_files import results_of
from fencecast.decide.study.results import t_interval
from fencecast.errors import UsageError
from fencecast.findings.standings import standings, study_warnings, weather_sentences, winner_sentence


def invented(pd, **changes):
    """pd (yards, strategies, weather), NaN where a strategy has no layout; one lens, one amount."""
    return results_of(np.asarray(pd, dtype=float)[None, :, :, None, :], **changes)


def some(yards=30, seed=1):
    random = np.random.default_rng(seed)
    base = random.beta(8, 2, size=(yards, 1, 2))
    return np.clip(base + np.array([0.0, -0.03, -0.2])[:, None] + random.normal(0, 0.02, (yards, 3, 2)), 0, 1)


def test_differences_are_those_of_a_paired_t_test():
    """Catches: unpaired or population spreads, a wrong t. Reference: scipy.stats.ttest_rel and its confidence interval."""
    pd = some()
    results = invented(pd)
    assert results.attrs["base"] == "chain" and results.attrs["base_chosen"] == 1
    for k, name in enumerate(["chain", "corner pairs", "back to back"][1:], start=1):
        for w in range(2):
            test = scipy.stats.ttest_rel(pd[:, k, w], pd[:, 0, w])
            low, high = test.confidence_interval(0.95)
            got = [results[f"pd_difference{end}"].sel(strategy=name).values[0, 0, w] for end in ("", "_low", "_high")]
            assert got == pytest.approx([float((pd[:, k, w] - pd[:, 0, w]).mean()), low, high], rel=1e-9)
            better = (pd[:, k, w] > pd[:, 0, w]).mean()
            assert results["yards_better"].sel(strategy=name).values[0, 0, w] == pytest.approx(better)


def test_pairs_are_judged_together():
    """Catches: a Holm step over one class or against the base alone. Reference: statsmodels, over 3 pairs x 3 rows."""
    pd = some(yards=12, seed=3)
    results = invented(pd)
    full = np.concatenate([pd, (pd @ np.array([3000.0, 200.0]) / 3200.0)[..., None]], axis=2)
    pairs = [(0, 1), (0, 2), (1, 2)]
    p = [scipy.stats.ttest_rel(full[:, a, w], full[:, b, w]).pvalue for a, b in pairs for w in range(3)]
    wanted = multipletests(p, method="holm")[1].reshape(3, 3)
    for (a, b), row in zip(pairs, wanted):
        for one, two in ((a, b), (b, a)):
            assert results["pair_p_holm"].values[0, one, two] == pytest.approx(row, rel=1e-6)
    assert np.isnan(results["pair_p_holm"].values[0, 0, 0]).all()


def test_the_interval_keeps_its_promise_for_skewed_differences():
    """Catches: z instead of t, or a division by n. 4,000 sets of 40 differences from a gamma distribution of skewness 1.4: a 95 %
    interval keeps 93 to 96 (Student's t with skewed data keeps a little less; a test with z and few yards keeps 88)."""
    random = np.random.default_rng(4)
    for yards, low, high in ((40, 0.925, 0.96), (5, 0.88, 0.96)):
        mean, half, _, n = t_interval(random.gamma(2.0, 1.0, size=(yards, 4000)) - 2.0, 0.95)
        assert (n == yards).all() and low < float((np.abs(mean) <= half).mean()) < high


def test_ranks_and_how_sure_they_are():
    """Catches: ranks upside down, yards resampled design by design (unpaired). Reference: resampling with indices, typed here."""
    pd = some(yards=15, seed=5)
    pd[:, 1] = pd[:, 0] - np.random.default_rng(6).normal(0.003, 0.01, (15, 2))
    results = invented(pd)
    means = pd.mean(axis=0)
    for w in range(2):
        assert results["rank"].values[0, :, 0, w].tolist() == scipy.stats.rankdata(-means[:, w], method="min").tolist()
    random = np.random.default_rng(7)
    drawn = np.array([pd[random.integers(0, 15, 15)].mean(axis=0) for _ in range(4000)])
    first = (drawn.argmax(axis=1) == 0).mean(axis=0)
    # Binomial errors of 2,000 and 4,000 sets at 0.7: 0.010 and 0.007; 4.5 sigma.
    assert results["first_share"].values[0, 0, 0, :2] == pytest.approx(first, abs=0.055)
    assert 0.1 < first[0] < 0.97  # so that the range of the first must reach the second place
    assert (results["rank_low"].values[0, 2, 0] == 3).all() and results["rank_high"].values[0, 0, 0, 0] == 2


def test_yards_without_a_layout_are_left_out_and_told():
    """Catches: no layout that counts as Pd 0, or a rank over yards on which one design is missing."""
    pd = some(yards=20, seed=8)
    pd[:8, 1] = np.nan
    results = invented(pd)
    assert results["yards_compared"].values[0, :, 0, 0].tolist() == [20.0, 12.0, 20.0]
    both = pd[8:, 1, 0] - pd[8:, 0, 0]
    assert results["pd_difference"].values[0, 1, 0, 0] == pytest.approx(float(both.mean()))
    assert results["rank"].values[0, :, 0, 0].tolist() == [1.0, 2.0, 3.0]  # counted as Pd 0 corner pairs would come last
    rows = standings(results, 0)
    assert [row.design for row in rows][0] == "chain" and rows[0].pd == pytest.approx(float(pd[8:, 0, 0].mean()))
    assert results["no_layout"].values[0, 0, 1, 0].startswith("it needs at least")
    assert any("no layout of corner pairs on 8 of 20 yards" in text for text in study_warnings(results))
    with pytest.raises(UsageError, match="no strategy has a layout on any yard"):
        invented(np.full((2, 2, 2), np.nan))


def test_the_base_is_the_named_one_or_the_best_of_the_year():
    """Catches: a base chosen by another class, or one that was not asked for."""
    pd = some()
    named = invented(pd, base="chain")
    assert named.attrs["base"] == "chain" and named.attrs["base_chosen"] == 0
    pd[:, 2, 1] = 1.0  # best in fog, which has few hours
    assert invented(pd).attrs["base"] == "chain"
    assert invented(pd)["pd_difference"].values[0, 0, 0].tolist() == [0.0, 0.0, 0.0]


def test_the_sentences_say_what_the_numbers_say():
    """Catches: a winner that is none, a ranking said to hold that does not."""
    pd = some()
    assert winner_sentence(invented(pd)).startswith(
        "At 4 cameras per yard chain ranks first over 30 yards: mean Pd over the year 0."
    )
    assert weather_sentences(invented(pd))[0].startswith("In fog the ranking is that of clear night: chain stays first, 0.0")
    tied = pd.copy()
    tied[:, 1] = tied[:, 0] + np.random.default_rng(1).normal(0, 0.01, (30, 2))
    assert "is not distinguishable from" in winner_sentence(invented(tied))
    swapped = pd.copy()
    swapped[:, :2, 1] = swapped[:, 1::-1, 1]
    assert "is not that of clear night: corner pairs ranks first there" in weather_sentences(invented(swapped))[0]
    behind = pd.copy()
    behind[:, 1:, 1] = behind[:, :0:-1, 1]
    assert (
        "chain stays first" in weather_sentences(invented(behind))[0]
        and "behind it changes" in weather_sentences(invented(behind))[0]
    )
    alone = invented(pd[:, :1])
    assert weather_sentences(alone) == [] and "has mean Pd" in winner_sentence(alone)
    assert any("few" in text for text in study_warnings(invented(pd[:4])))
