"""Pictures of a fit and of re-tests: no text on another, titles from the data, curves that hold the same mass."""

import numpy as np
import pytest

from fencecast.cautions import CAUTION
from fencecast.findings.walkfitwords import fit_title
from fencecast.prove.fit.again import Dated, Moved, WalkAgain
from fencecast.show.paper.page import LARGEST_PNG_BYTES, save_picture
from fencecast.show.walk.again import again_data, plot_again
from fencecast.show.walk.calibration import plot_calibration
from fencecast.show.walk.fitdata import calibration_data
from prove.fit.onestep import invented_fit
from show.overlap import overlaps, texts
from show.wording import wrong_words

CASES = {
    "usual": {},
    "many": {"rounds": 12},
    "sees all": {"cycles_50": 0.2},
    "sees nothing": {"cycles_50": 60.0},
    "few": {"kept": lambda walk: walk.trial <= 4},
}


@pytest.mark.parametrize("case", CASES)
def test_nothing_of_the_calibration_lies_on_anything_else(case, tmp_path):
    fit = invented_fit(**CASES[case])
    figure = plot_calibration(fit)
    shown = texts(figure)
    assert overlaps(figure) == [] and wrong_words(shown) == [] and CAUTION in shown
    assert fit_title(fit) in shown or fit_title(fit) in " ".join(shown)
    assert not any("nan" in text for text in shown)
    for band in fit.checks.bands:
        assert f"{band.alarms} of {band.cells}" in shown
    save_picture(figure, tmp_path / "calibration.png")
    assert (tmp_path / "calibration.png").stat().st_size <= LARGEST_PNG_BYTES


def test_curves_are_those_of_the_fit():
    fit = invented_fit()
    data = calibration_data(fit)
    assert data.n50.x @ data.n50.after == pytest.approx(fit.cycles_50.mean_ln, abs=1e-9)
    step = np.diff(data.correlation.x)
    for curve in (data.correlation.before, data.correlation.after):
        assert (0.5 * (curve[1:] + curve[:-1]) @ step) == pytest.approx(1.0, abs=1e-6)
    at = int(np.argmin(np.abs(np.log(data.cycles / fit.cycles_50.median))))
    assert data.pd[at] == pytest.approx(0.5, abs=0.03)
    assert np.all(data.pd_low <= data.pd) and np.all(data.pd <= data.pd_high)


def again_of(medians, moved=None):
    fit = invented_fit(draws=5)
    dated = tuple(
        Dated("log.csv", f"20{26 + k}-11-29", 12, n50, n50 * 0.75, n50 * 1.4, float(np.log(n50)), 0.15, None, {})
        for k, n50 in enumerate(medians)
    )
    return WalkAgain(fit.question, (), dated, moved, 2.6, ((0.1, 0.02),), ())


@pytest.mark.parametrize("count", [1, 2, 5, 14])
def test_nothing_of_the_re_tests_lies_on_anything_else(count):
    medians = [2.6, 2.4, 2.8, 2.5, 5.0, *([2.6] * 9)][:count]
    moved = Moved((0.3,), 0.3, 0.3, 1, 0.05, (-0.2, 0.4)) if count > 1 else None
    figure = plot_again(again_of(medians, moved))
    assert overlaps(figure) == [] and CAUTION in texts(figure)
    assert len(again_data(again_of(medians)).limits) == count - 1


def test_a_limit_is_the_earlier_logs_mean_and_both_spreads():
    """By hand: one log of sd 0.15 before, one of 0.15 after: 2.5 times 0.2121 above."""
    data = again_data(again_of([2.6, 2.4]))
    assert data.limits == pytest.approx((2.6 * np.exp(2.5 * 0.15 * np.sqrt(2.0)),))
