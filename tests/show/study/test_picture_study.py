"""The pictures of a study: what they say and draw follows from the numbers, also with many designs, classes and few yards."""

import numpy as np
import pytest

from decide.study.study_files import results_of
from fencecast.cautions import CAUTION
from fencecast.estimate.store import open_results, save_results
from fencecast.show.paper import style
from fencecast.show.paper.page import LARGEST_PNG_BYTES, Page, save_picture
from fencecast.show.study.data import (
    front_costs,
    shown_classes,
    shown_designs,
    study_differences_data,
    study_front_data,
    study_ranks_data,
)
from fencecast.show.study.differences import LABEL_MM, WORDS_MM, plot_study_differences
from fencecast.show.study.front import plot_study_front
from fencecast.show.study.ranks import plot_study_ranks
from fencecast.show.study.sheet import spread_out
from fencecast.show.write import STUDY, write_pictures
from show.overlap import off_page, overlapping, texts
from show.wording import wrong_words


def numbers(amounts=3, yards=30, strategies=4, lenses=1, classes=2, seed=1, apart=0.03) -> np.ndarray:
    """Pd falls from strategy to strategy and from lens to lens, rises with the amount, and is lower in fog."""
    random = np.random.default_rng(seed)
    pd = 0.75 + 0.1 * random.random((1, yards, 1, 1, 1)) + 0.07 * np.arange(amounts)[:, None, None, None, None]
    pd = pd - apart * np.arange(strategies)[:, None, None] - 0.01 * np.arange(lenses)[:, None] - 0.04 * np.arange(classes)
    return np.clip(pd + random.normal(0, 0.01, (amounts, yards, strategies, lenses, classes)), 0.0, 1.0)


def with_gaps():
    pd = numbers()
    pd[0, :12, 2] = np.nan
    pd[1, :, 3] = np.nan
    return results_of(pd)


def nowhere_all():
    pd = numbers(yards=6)
    pd[:, :3, 0] = np.nan
    pd[:, 3:, 1] = np.nan
    return results_of(pd)


COST = {"equal": {"by": "cost", "number": [9000.0]}}
CASES = {
    "usual": lambda: results_of(numbers()),
    "prices": lambda: results_of(numbers(), **COST),
    "one amount": lambda: results_of(numbers(amounts=1)),
    "one design": lambda: results_of(numbers(strategies=1)),
    "one yard": lambda: results_of(numbers(yards=1)),
    "two yards": lambda: results_of(numbers(yards=2)),
    "many": lambda: results_of(numbers(strategies=6, lenses=3, classes=9, yards=100)),
    "equal": lambda: results_of(np.full((2, 8, 3, 1, 2), 0.8)),
    "all high": lambda: results_of(np.clip(numbers() + 0.3, 0.0, 0.9999)),
    "with gaps": with_gaps,
    "no common yard": nowhere_all,
}
DRAW = {"differences": plot_study_differences, "ranks": plot_study_ranks, "front": plot_study_front}


@pytest.mark.parametrize("case", CASES)
def test_no_text_overlaps_or_leaves_the_page_and_the_words_are_allowed(case, tmp_path):
    """Catches: labels on each other, labels off the page, promises in words, a lost caution line, files too large to mail."""
    results = CASES[case]()
    for name, draw in DRAW.items():
        figure = draw(results)
        if case == "many":
            save_picture(figure, tmp_path / "many.png")
            assert (tmp_path / "many.png").stat().st_size <= LARGEST_PNG_BYTES
        assert overlapping(figure) == [] and off_page(figure) == [], name
        assert wrong_words(texts(figure)) == [] and CAUTION in texts(figure)
        assert any("study file " in text for text in texts(figure))
        assert not any("nan" in text for text in texts(figure)), name


def test_titles_are_findings():
    """Catches: a winner that is none, a ranking said to hold that does not, a requirement that is not reached."""
    usual = results_of(numbers())
    gap = float(usual["pair_difference"].sel(design="chain", other="corner pairs").values[0, 2])
    assert (
        study_differences_data(usual).title == f"Chain ranks first over 30 yards: mean Pd {gap:.3f} above corner pairs, the next"
    )
    assert gap == pytest.approx(0.03, abs=0.01)
    assert study_ranks_data(usual).title == "Chain ranks first in every weather class"
    tied = results_of(numbers(apart=0.0))
    assert ", not distinguishable from " in study_differences_data(tied).title
    assert study_ranks_data(tied).title == "In no weather is the first distinguishable from the next"
    pd = numbers()
    pd[..., 1] = pd[:, :, ::-1, :, 1]
    assert study_ranks_data(results_of(pd)).title == "Fog: from buildings ranks first; clear night: chain"
    pd = numbers()
    pd[:, :, 1, :, 1] = pd[:, :, 0, :, 1] - np.random.default_rng(8).normal(0.001, 0.02, pd[:, :, 0, :, 1].shape)
    said = "Chain ranks first in clear night; elsewhere the first is not distinguishable from the next"
    assert study_ranks_data(results_of(pd)).title == said
    assert study_front_data(usual).title == "Chain reaches a mean Pd of 0.90 with at most 8 cameras per yard"  # a second may too
    alone = results_of(numbers(apart=0.06))
    assert study_front_data(alone).title == "Chain alone reaches a mean Pd of 0.90 with at most 8 cameras per yard"
    two = results_of(numbers(apart=0.01), **COST)
    assert study_front_data(two).title.startswith(
        "Three designs reach a mean Pd of 0.90 with at most a cost of 8 per yard; chain: 0.9"
    )
    assert study_front_data(results_of(numbers() * 0.5)).title == "No design reaches a mean Pd of 0.90 with what was allowed"
    few = numbers(yards=2, amounts=1)
    few[:, 0], few[:, 1] = 0.99, 0.84  # means of 0.915 from two yards far apart
    assert (
        study_front_data(results_of(few)).title == "Nothing allowed is sure to reach a mean Pd of 0.90: no interval lies above it"
    )
    two = numbers(yards=6, strategies=2)
    two[:, :3, 0], two[:, 3:, 1] = np.nan, np.nan  # no yard has both: one of them is left, and there is nothing to rank
    assert study_ranks_data(results_of(two)).title.startswith("No ranking")


def test_what_is_drawn_lies_where_the_numbers_are():
    """Catches: axes that do not fit their ticks: positions are worked back from tick labels and marks on the page."""
    results = results_of(numbers(amounts=1, strategies=2))
    figure = plot_study_differences(results)
    found = {t.get_text(): t.get_position()[0] for t in figure.findobj(match=lambda a: hasattr(a, "get_fontsize"))}
    ticks = {
        float(k.replace("−", "-").replace("+", "")): x for k, x in found.items() if k.replace("−", "").replace(".", "").isdigit()
    }
    (a, xa), (b, xb) = sorted(ticks.items())[0], sorted(ticks.items())[-1]
    dots = [p for p in figure.axes[0].patches if type(p).__name__ == "Circle"]
    wanted = [results["pd_difference"].values[0, 1, 0, w] for w in (2, 0, 1)]
    got = [a + (dot.center[0] - xa) / (xb - xa) * (b - a) for dot in sorted(dots, key=lambda d: d.center[1])]
    assert got == pytest.approx(wanted, abs=1e-6)


def test_intervals_stay_on_their_axis_and_among_possible_differences():
    """Catches bars across labels, and a difference of two Pd of 3.8: two yards far apart give Student's interval such ends."""
    pd = np.full((1, 2, 2, 1, 1), 0.5)
    pd[0, :, 1, 0, 0] = 0.52, 0.95
    results = results_of(pd)
    assert results["pd_difference_low"].min() == -1.0 and results["pd_difference_high"].max() == 1.0
    figure = plot_study_differences(results)
    bars = [line for line in figure.axes[0].lines if line.get_color() == style.A_COLOUR]
    ends = [x for line in bars for x in line.get_xdata()]
    page = Page()
    assert (min(ends), max(ends)) == pytest.approx((page.left + LABEL_MM, page.right - WORDS_MM))


def test_the_page_says_what_it_leaves_out():
    """Catches: designs and classes that vanish without a word."""
    results = CASES["many"]()
    assert len(shown_designs(results)) == 8 and len(shown_classes(results)) == 6
    for draw in DRAW.values():
        assert "Not drawn: 10 more designs and 3 more weather classes; the file has them." in texts(draw(results))


def test_costs_are_means_over_the_yards_with_a_layout():
    """Catches: a layout that is not there and counts as free."""
    cost, unit = front_costs(with_gaps())
    assert unit == "cameras" and cost[0].tolist() == [4.0, 5.0, 6.0, 7.0] and np.isnan(cost[1, 3])


def test_labels_are_spread_apart():
    """Catches: names of fronts on each other, or out of order."""
    placed = spread_out([5.0, 5.1, 30.0, 49.9, 50.0], 3.0, 0.0, 50.0)
    assert sorted(placed) == placed and min(np.diff(placed)) >= 3.0 - 1e-9 and placed[-1] <= 50.0
    assert placed[2] == 30.0


def test_every_picture_of_a_study_is_written(tmp_path):
    """Catches: a picture that the command announces and does not write."""
    names = [name for group, *_ in STUDY for name in group]
    assert write_pictures(CASES["one yard"](), tmp_path) == names
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(names)


def test_lines_differ_in_grey():
    """Catches: lines that are distinguished by colour alone: every pair of designs on a page differs in grey or in dashes."""
    from fencecast.show.study.sheet import LINES

    def grey(colour: str) -> float:
        return sum(w * int(colour[k : k + 2], 16) for w, k in ((0.2126, 1), (0.7152, 3), (0.0722, 5)))

    for k, (colour, points, dashes) in enumerate(LINES):
        for other, other_points, other_dashes in LINES[:k]:
            same = abs(grey(colour) - grey(other)) < 25 and dashes == other_dashes and points == other_points
            assert not same


def test_a_study_file_is_opened_and_drawn_again(tmp_path):
    """What `fencecast plot study.nc` does. Catches a study that is refused as no results file, or drawn as a run."""
    save_results(CASES["one yard"](), tmp_path / "study.nc")
    opened = open_results(tmp_path / "study.nc")
    (tmp_path / "again").mkdir()
    assert write_pictures(opened, tmp_path / "again") == [name for group, *_ in STUDY for name in group]
