"""The sheet carries what to change and what losses cost when the results do, and nothing in their place when they do not."""

import json

import numpy as np
import pytest

from fencecast.show.fence.sheetdata import summary_data
from fencecast.show.fence.summary import plot_summary
from show import invented_results
from show.fence.test_picture_comparison import with_losses
from show.overlap import overlaps, texts

STEPS = [
    {"words": "let rule 4 hear C2 too", "kind": "rule", "cost": None, "weak_m": [124.0, 96.0], "fence_m": [130.0, 100.0],
     "most_in": "warm dusk", "most_m": [124.0, 96.0]},
    {"words": "mount C3 at 6 m instead of 4 m", "kind": "height", "cost": 300.0, "weak_m": [96.0, 96.0], "fence_m": [100.0, 92.0],
     "most_in": "wet snow", "most_m": [40.0, 31.0]},
    {"words": "turn C1 from bearing 5, 12 degrees down to bearing 9, 14 degrees down", "kind": "turned", "cost": None,
     "weak_m": [96.0, 96.0], "fence_m": [92.0, 92.0], "most_in": "warm dusk", "most_m": [96.0, 96.0]},
]  # fmt: skip


def lost():
    results = with_losses()
    for end, shift in (("", 0.0), ("_low", -0.01), ("_high", 0.01)):
        results[f"loss_year_change{end}"] = (("loss",), np.array([-0.08, 0.0]) + shift)
    results["pd_loss_change"] = results["pd_loss"] - results["pd"].values
    results.attrs["losses_by"] = "camera"
    return results


def remedied(results):
    results.attrs["remedy"] = "Let rule 4 hear C2 too ..."
    results.attrs["remedy_steps"] = json.dumps(STEPS)
    return results


def test_steps_say_what_each_adds_and_where():
    """Against the invented steps by hand. Catches: a step's metres under the wrong class, a step that says it does nothing."""
    results = remedied(invented_results.yard())
    ((head, lines),) = summary_data(results).boxes
    assert head.startswith("What to change: free changes first")
    assert lines == (
        "1. Let rule 4 hear C2 too: 124 -> 96 m weak in warm dusk.",
        "2. Mount C3 at 6 m instead of 4 m, cost 300: 40 -> 31 m weak in wet snow.",
        "3. Turn C1 from bearing 5, 12 degrees down to bearing 9, 14 degrees down: no metre less, Pd a little higher.",
    )


def test_losses_stand_beside_the_changes():
    """Catches: losses that the run simulated and the sheet leaves out; the order of the table turned over."""
    boxes = summary_data(remedied(lost())).boxes
    assert len(boxes) == 2
    head, lines = boxes[1]
    assert head == "What each loss costs: one camera at a time, the costliest first"
    assert lines[0].startswith("C1: ") and " m newly weak (" in lines[0] and lines[0].endswith("mean Pd −0.080.")
    assert lines[-1].startswith("C2 adds nothing")


@pytest.mark.parametrize(
    "make", [lambda: remedied(invented_results.yard()), lost, lambda: remedied(lost()), invented_results.yard]
)
def test_the_blocks_fit_the_sheet(make):
    """Catches: blocks over the table or the notes, a heading over an empty block."""
    results = make()
    figure = plot_summary(results)
    assert overlaps(figure) == []
    said = texts(figure)
    assert ("What to change" in said) == ("remedy_steps" in results.attrs)
    assert ("What each loss costs" in said) == ("pd_loss" in results)
    page = " ".join(said)
    for _, lines in summary_data(results).boxes:
        for line in lines:
            assert line in page


@pytest.mark.parametrize("size", ["yard", "us_units", "large", "requirement_0.50", "twelve_classes"])
def test_no_reading_is_cut(size):
    """Catches: a sentence of the table that ends in an ellipsis before its finding."""
    results = invented_results.ALL[size]()
    said = " ".join(texts(plot_summary(results)))
    for reading in summary_data(results).readings:
        assert reading in said
