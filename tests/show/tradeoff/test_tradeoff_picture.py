"""The picture of a trade-off: no text on another or off the page, marks that stay apart in grey, and what it draws."""

import math

import numpy as np
import pytest
from matplotlib.lines import Line2D

from fencecast.cautions import CAUTION
from fencecast.errors import UsageError
from fencecast.show.paper import style
from fencecast.show.paper.page import LARGEST_PNG_BYTES, save_picture
from fencecast.show.tradeoff.around import TEXT_MM, around
from fencecast.show.tradeoff.data import tradeoff_data
from fencecast.show.tradeoff.marks import ORDER, SHAPES, family_line, family_shape
from fencecast.show.tradeoff.picture import plot_tradeoff
from fencecast.show.write import pictures_of
from show.invented_tradeoffs import ROWS, invented
from show.overlap import overlaps, texts
from show.wording import wrong_words

BASE = ROWS[0]
LADDERS = {
    "threshold": ("3.5", "4", "6", "8", "12"), "N50": ("1.5", "2.5", "3", "4"), "confirm": ("2/3", "4/6", "5/8"),
    "least size": ("0.3", "0.45", "0.6"), "dwell": ("1", "2", "4"), "offset": ("1", "2", "3"),
}  # fmt: skip
EVERY = [(family, value) for family, values in LADDERS.items() for value in values]


def crowd(spread: float, metres: float):
    """All ladders, most settings next to the base."""
    random = np.random.default_rng(3)
    rows = [(*each, 122.0 - metres * random.random(), 5.0 * math.exp(spread * random.normal()), 0.4) for each in EVERY]
    return invented((BASE, *rows))


CASES = {
    "usual": lambda: invented(),
    "ceiling": lambda: invented(ceiling=4.0),
    "ceiling far away": lambda: invented(ceiling=0.01),
    "crowded": lambda: crowd(0.25, 30.0),
    "very crowded": lambda: crowd(0.03, 3.0),
    "one setting": lambda: invented((BASE, ("confirm", "5/8", 122.0, 3.2, 0.4))),
    "no alarms": lambda: invented((BASE, ("confirm", "5/8", 122.0, 0.0, 0.4), ("threshold", "8", 90.0, 0.001, 0.4))),
    "many alarms": lambda: invented(((*BASE[:3], 812.0, 0.4), ("threshold", "8", 90.0, 95.0, 0.4))),
    "every metre": lambda: invented(((*BASE[:2], 163.0, 5.0, 0.95), ("threshold", "8", 163.0, 4.0, 0.93)), unreached_m=0),
    "no metre": lambda: invented(((*BASE[:2], 0.0, 5.0, 0.0), ("threshold", "8", 0.0, 4.0, 0.0)), unreached_m=163),
}


@pytest.mark.parametrize("case", CASES)
def test_no_text_overlaps_or_leaves_the_page_and_no_label_is_lost(case, tmp_path):
    """Catches: value labels on each other, a crowd that loses labels, a promise in words, a page too large to mail."""
    results = CASES[case]()
    data, figure = tradeoff_data(results), plot_tradeoff(results)
    said = texts(figure)
    assert overlaps(figure) == [] and wrong_words(said) == [] and CAUTION in said
    assert not any("nan" in text or "inf" in text for text in said)
    labels = [point.label for family in data.families for point in family.points if not point.is_base]
    lost = [label for label in labels if sum(text == label or text.endswith(f" {label}") for text in said) == 0]
    assert lost == [] and "required" in said
    if case == "crowded":
        save_picture(figure, tmp_path / "tradeoff.png")
        assert (tmp_path / "tradeoff.png").stat().st_size <= LARGEST_PNG_BYTES


def test_every_family_differs_in_shape_and_line():
    """Grey print keeps shapes and dashes. Catches: two families with one shape, two lines with one look."""
    assert len({family_shape(name) for name in ORDER}) == len(ORDER) == len(SHAPES)
    assert len({family_line(name) for name in ORDER}) == len(ORDER)


def test_points_lie_on_lines_in_the_order_of_their_values_with_the_base_at_its_own():
    """Catches: values sorted as texts (12 before 8), a base at the end of every line."""
    found = {family.name: [point.label for point in family.points] for family in tradeoff_data(crowd(0.1, 9.0)).families}
    assert found["threshold"] == ["3.5", "4", "", "6", "8", "12"] and found["confirm"] == ["2 of 3", "", "4 of 6", "5 of 8"]
    assert found["N50"] == ["1.5", "", "2.5", "3", "4"] and found["least size"] == ["", "0.3", "0.45", "0.6"]
    assert found["offset"] == ["", "+1 m", "+2 m", "+3 m"]


def test_the_axis_is_logarithmic_with_plain_numbers_and_the_ceiling_dashed():
    """Catches: 10^0 as a tick, a ceiling at the wrong place."""
    figure = plot_tradeoff(invented(ceiling=4.0))
    said = [(text.get_text(), text.get_position()[0]) for text in figure.findobj(match=lambda a: hasattr(a, "get_fontsize"))]
    at = dict(said)
    assert math.isclose((at["4"] - at["3"]) / (at["6"] - at["3"]), math.log(4 / 3) / math.log(2), rel_tol=1e-6)
    dashed = [line for line in figure.findobj(Line2D) if line.is_dashed() and len(set(line.get_xdata())) == 1]
    assert [line.get_xdata()[0] for line in dashed] == [pytest.approx(at["4"])]
    assert "ceiling 4" in at and "163" in at and "20 m of 163 m: under none of these settings" in at


def test_dominated_settings_are_hollow():
    data = tradeoff_data(invented())
    hollow = {(family.name, point.label) for family in data.families for point in family.points if point.dominated}
    assert ("threshold", "3.5") in hollow and ("confirm", "5 of 8") not in hollow and ("least size", "0.6") not in hollow
    said = texts(plot_tradeoff(invented((BASE, ("confirm", "5/8", 122.0, 3.2, 0.4), ("threshold", "4", 122.0, 6.0, 0.4)))))
    assert "hollow: dominated by another setting" in said
    said = texts(plot_tradeoff(invented((BASE, ("confirm", "5/8", 122.0, 3.2, 0.4)))))
    assert "hollow: dominated by another setting" not in said


def test_without_stimuli_there_is_no_trade_to_draw():
    results = invented(asked=False)
    assert pictures_of(results) == ()
    with pytest.raises(UsageError, match=r"there is no trade to draw: the site has no \[\[stimulus\]\] table"):
        plot_tradeoff(results)
    with pytest.raises(UsageError, match="these are no results of a trade-off"):
        plot_tradeoff(results.drop_attrs())


@pytest.mark.parametrize("seed", range(3))
def test_labels_find_room_beside_their_points(seed):
    """Labels touch neither each other nor what is taken, and stay in the panel. Catches: a candidate that is not checked."""
    random = np.random.default_rng(seed)
    points = [tuple(point) for point in random.normal([80, 40], [15, 8], (24, 2))]
    widths = random.uniform(3, 16, 24)
    taken = [(x - 1.1, y - 1.1, x + 1.1, y + 1.1) for x, y in points]
    boxes = around(points, widths, taken, list(zip(points, points[1:])), (0.0, 0.0, 160.0, 80.0))
    assert None not in boxes
    for k, box in enumerate(boxes):
        assert box[2] - box[0] == pytest.approx(widths[k]) and box[3] - box[1] == pytest.approx(TEXT_MM)
        assert box[0] >= 0 and box[1] >= 0 and box[2] <= 160 and box[3] <= 80
        for other in [*boxes[:k], *taken]:
            assert min(box[2], other[2]) <= max(box[0], other[0]) or min(box[3], other[3]) <= max(box[1], other[1])
    assert style.SMALL == 6.5  # the size that the height of a label is for
