"""The cause strip names every weak place with its cause, however short it is, and never a bracket without a name."""

import numpy as np
import pytest

from fencecast.estimate.results import Results
from fencecast.estimate.weakest import lowest_places, weak_places
from fencecast.show.fence.cause import place_words, plot_cause_strip
from fencecast.show.fence.data import MOST_PLACES, cause_strip_data
from fencecast.show.fence.summary import plot_summary
from fencecast.show.paper.labels import levels_by_rank
from fencecast.show.paper.text import text_width_mm
from show import invented_results
from show.overlap import overlaps, texts

ALL = invented_results.ALL


@pytest.mark.parametrize("size", ["yard", "large", "short_sections", "long_fence", "one_class", "closed_ring"])
def test_every_weak_place_stands_in_the_strip_with_its_cause(size):
    """Catches: brackets at weak stretches without a name, numbers that differ from the sheet's, a place that vanishes."""
    results = Results.of(ALL[size]())
    said = " ".join(texts(plot_cause_strip(results)))
    places = weak_places(results)
    for n, place in enumerate(places[:MOST_PLACES], start=1):
        words = f"{n}  {place.code}: {place.cause}"
        assert " ".join(words.split()) in " ".join(said.split()), words
    if len(places) > MOST_PLACES:
        assert f"{len(places) - MOST_PLACES} more weak places: see the tables" in said
    named = cause_strip_data(results).places
    assert [p.code for p in named[:5]] == [p.code for p in lowest_places(results)], "the sheet's numbers"
    sheet = texts(plot_summary(results))
    for place in named[1:5]:  # "1" stands on axes, too
        assert sheet.count(str(place.number)) == 2, "once on the sheet's plan, once in its table"


def test_a_place_of_one_metre_has_a_number_and_a_key():
    """Catches: a stretch too short for its name that gets none: one 2 m segment of 410 m made weak by hand."""
    results = ALL["all_meet"]()
    at = 60
    results["pd"][2, at], results["pd_low"][2, at], results["pd_high"][2, at] = 0.30, 0.27, 0.33
    results["verdict"][2, at] = "weak"
    results["miss_share"][:, 2, at] = [0.0, 0.6, 0.1, 0.0, 0.0]
    figure = plot_cause_strip(results)
    said = texts(figure)
    (place,) = cause_strip_data(results).places
    assert place.segments == (at,) and place.cause == "not in view"
    assert "1" in said and any(place_words(place) in text or " ".join(place_words(place).split()) in text for text in said)
    assert overlaps(figure) == []
    assert not any(text.startswith("weak places") for text in texts(plot_cause_strip(ALL["all_meet"]())))


def test_one_camera_keeps_a_stretch_that_another_sees_as_well():
    """Catches: brackets that take turns from metre to metre between two cameras alike, none of which has room for its mark."""
    results = ALL["long_fence"]()
    alone = results["pd_camera"].values
    alone[:] = 0.0
    count = alone.shape[2]
    alone[3, :, :], alone[7, :, :] = 0.90, 0.90 + 0.01 * np.where(np.arange(count) % 2, 1.0, -1.0)
    best = cause_strip_data(results).best_camera
    sections = Results.of(results).sections
    assert all(len(set(best[s.first : s.stop])) == 1 for s in sections)
    alone[7] = 0.95  # more than alike
    assert set(cause_strip_data(results).best_camera) == {"K8"}


def test_labels_choose_a_level_in_the_order_of_their_rank():
    """Catches: names joined into one line as long as the page, and one on the other's leader."""
    labels = [(f"K{i}", 4.1 * i) for i in range(30)]
    placed = levels_by_rank(labels, 0.0, 130.0, 7.0, gap=0.8, levels=3)
    assert all(p is not None and p.text == text and p.anchor == anchor for p, (text, anchor) in zip(placed, labels))
    for i, a in enumerate(placed):
        for b in placed[i + 1 :]:
            apart = abs(a.middle - b.middle) - 0.5 * (text_width_mm(a.text, 7.0) + text_width_mm(b.text, 7.0))
            assert a.level != b.level or apart > 0.0
    crowded = levels_by_rank([("wide words", 10.0), ("others", 10.1), ("third", 10.2)], 0.0, 60.0, 7.0)
    assert crowded[0] is not None and None in crowded
