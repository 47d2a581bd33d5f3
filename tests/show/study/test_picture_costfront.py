"""The picture of cost against the weakest metre, measured with the renderer: many sets, few, none; money and cameras."""

import pytest
from matplotlib.text import Text

from fencecast.cautions import CAUTION
from fencecast.decide.place.proposal import Step
from fencecast.findings.designtitles import cost_title
from fencecast.show.study.costfront import plot_cost_front
from show.overlap import overlaps
from show.wording import wrong_words

ATTRS = {
    "title": "Invented yard (proposal)",
    "version": "0.1.0",
    "seed": 1,
    "crossings_total": 257_664,
    "confidence": 0.95,
    "requirement_pd": 0.90,
    "site_sha256": "abcdef1234567890",
}


def steps(count: int, each: float = 1.0, start: int = 3):
    """Invented sets: every camera more brings less."""
    made = []
    for k in range(count):
        pd = 1.0 - 0.95 * 0.6**k
        where = ("B 108 m to C 2 m", "windy night with moving foliage") if k % 3 == 1 else ("A 0–1 m", "fog")
        made.append(
            Step(k * each, start + k, k, 0, min(pd + 0.03, 1.0), pd, max(pd - 0.05, 0.0), min(pd + 0.04, 1.0), *where,
                 100.0 + 5 * k, 20.0 - k, max(40.0 - 4 * k, 0.0))
        )  # fmt: skip
    return made


@pytest.mark.parametrize(
    ("count", "each", "unit"), [(1, 1.0, "cameras"), (2, 0.1, "cameras"), (6, 1400.0, "price"), (30, 1.0, "cameras")]
)
def test_texts_stand_apart_and_the_page_can_be_read_alone(count, each, unit):
    """Catches: labels of near costs on each other, a table past the page, a forbidden word, no caution."""
    figure = plot_cost_front(steps(count, each), ATTRS, unit)
    assert overlaps(figure) == []
    texts = [text.get_text() for text in figure.findobj(Text)]
    assert CAUTION in texts and wrong_words(texts) == [] and "required" in texts
    assert not any("flatter" in text for text in texts)  # a ring may lie below its dot as well


def test_the_title_is_the_finding():
    assert cost_title(steps(3), 0.9) == "Two new cameras: the weakest metre goes from 0.05 to 0.66, required 0.90"
    assert cost_title(steps(1), 0.9) == "Nothing to add: the weakest metre has Pd 0.05, required 0.90"
    bare = steps(2, start=0)
    assert cost_title(bare, 0.9).startswith("One new camera: the weakest metre goes from nothing to 0.43")
