"""The fence strip and the strip after a loss: numbers stand clear of the axis, what is newly weak is marked and counted."""

import re

import numpy as np
import pytest
from matplotlib.colors import to_hex
from matplotlib.patches import Rectangle

from fencecast.show.fence.data import fence_strip_data
from fencecast.show.fence.loss import plot_worst_loss
from fencecast.show.fence.lossdata import worst_loss_data
from fencecast.show.fence.strip import BY_HOURS, LEFT, RIGHT, plot_fence_strip
from fencecast.show.fence.unrolled import Unrolled
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from show import invented_results
from show.fence.test_picture_comparison import with_losses
from show.overlap import overlaps, text_boxes, texts

ALL = invented_results.ALL
INTERVAL = re.compile(r"^[<>]?\d\.\d\d \(\d\.\d\d to \d\.\d\d\)")


@pytest.mark.parametrize("size", ["yard", "short_sections", "large", "us_units", "one_class"])
def test_numbers_of_places_stand_under_the_profile(size):
    """Catches: `re-run` on the axis, a white plate over guide lines and the requirement: boxes against that of the axis's 0."""
    results = ALL[size]()
    boxes = text_boxes(plot_fence_strip(results))
    zero = [box for box in boxes if box[0] == "0" and box[1] > RIGHT]
    assert len(zero) == 1
    middle = 0.5 * (zero[0][2] + zero[0][4])
    labels = [box for box in boxes if INTERVAL.match(box[0])]
    assert len(labels) == len(fence_strip_data(results).lowest)
    for text, left, _, right, top in labels:
        assert top < middle and left >= LEFT - 0.5 and right <= RIGHT + 0.5, text


def test_fresh_crossings_are_said_once_where_all_numbers_are_from_them():
    """Catches: `re-run` after every number, or no word of it: some fresh, all fresh, none."""
    results = invented_results.yard(fresh=True)
    none = texts(plot_fence_strip(invented_results.yard()))
    assert not any("fresh" in text or "re-run" in text for text in none)
    for name in ("pd_fresh", "pd_fresh_low", "pd_fresh_high"):
        results[name][:] = results[name.replace("_fresh", "")].values
    said = texts(plot_fence_strip(results))
    assert "fresh crossings" in said and not any("re-run" in text for text in said)
    lowest = fence_strip_data(results).lowest[0]
    row = [str(w) for w in results["weather"].values].index(lowest.weather)
    results["pd_fresh"][row, lowest.segment] = np.nan
    said = texts(plot_fence_strip(results))
    assert sum(text.endswith(" re-run") for text in said) == 2


def test_what_a_loss_makes_weak_is_marked_and_counted():
    """Open rails against the invented loss itself. Catches: newly weak metres that look like those that always were."""
    results = with_losses()
    data = worst_loss_data(results)
    k = [str(name) for name in results["loss"].values].index(data.loss)
    newly = np.asarray(results["loss_newly_weak"].values[k], dtype=bool)
    lengths = results["segment_end_m"].values - results["segment_start_m"].values
    assert newly.any() and not newly.all()
    figure = plot_worst_loss(results)
    scale = Unrolled(Page(), data.strip.fence, LEFT, RIGHT).scale
    open_rails = [
        patch for patch in figure.findobj(Rectangle)
        if to_hex(patch.get_facecolor()).upper() == style.PAPER and to_hex(patch.get_edgecolor()).upper() == style.INK
        and abs(patch.get_height() - style.RAIL_MM) < 1e-6
    ]  # fmt: skip
    drawn = sorted(open_rails, key=lambda patch: patch.get_y())[:-1]  # the lowest is the key's
    rows: dict[float, float] = {}
    for patch in drawn:
        assert patch.get_x() >= LEFT - 0.1 and patch.get_x() + patch.get_width() <= RIGHT + 0.1
        rows[round(patch.get_y(), 3)] = rows.get(round(patch.get_y(), 3), 0.0) + patch.get_width() / scale
    order = [row.summary.index for row in data.strip.rows if newly[row.summary.index].any()]
    for metres, c in zip(rows.values(), order, strict=True):  # a rail of less than 0.7 mm is drawn that wide
        assert 0.0 <= metres - lengths[newly[c]].sum() + 1e-6 < 5.0 and metres < 1.1 * lengths[newly[c]].sum()
    said = texts(figure)
    for c in order:
        assert f"{lengths[newly[c]].sum():.0f} newly" in said
    assert "newly weak" in said and "weak without C1, not weak with all cameras, on the same crossings" in said
    assert "C1 lost" in " ".join(said) and overlaps(figure) == []


def test_a_strip_of_one_class_has_no_second_row_of_the_same():
    """Catches: a row 'year by hours' that repeats the only class."""
    assert BY_HOURS not in texts(plot_fence_strip(ALL["one_class"]()))
    assert BY_HOURS in texts(plot_fence_strip(ALL["yard"]()))
