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


def built(results):
    """Twelve installations between 0.7 and 0.99 everywhere, of a file with errors of mounting."""
    pd = np.broadcast_to(np.linspace(0.7, 0.99, 12)[:, None, None], (12, *results["pd"].shape)).copy()
    results["pd_installation"] = (("installation", "weather", "segment"), pd)
    for name, value in (("10", 0.73), ("90", 0.96)):
        results[f"pd_installation_{name}"] = results["pd"] * 0.0 + value
    for name in ("meets_share", "meets_share_low", "meets_share_high"):
        results[f"installation_{name}"] = results["pd"] * 0.0 + 4.0 / 12.0
    results["installation_lowest_pd"] = (("installation",), pd.min(axis=(1, 2)))
    results.attrs["site_toml"] += "\n[tolerance]\nbearing_deg = 1.0\ndepression_deg = 1.0\n"
    return results


def test_the_sheet_says_how_many_yards_meet():
    """Catches: a sheet that says "all meets" of a mean while some of the yards that the run drew do not; a line without a run of
    them. By hand: 4 of 12 evenly spaced Pd from 0.70 to 0.99 are 0.90 or more."""
    results = built(invented_results.yard())
    said = " ".join(texts(plot_summary(results)))
    line = "Built within 1 degree, 4 of 12 yards like this meet everywhere; the weakest metre lies between 0.73 and 0.96."
    assert summary_data(results).reasons[0] == line and line in said
    assert not any("yards" in reason for reason in summary_data(invented_results.yard()).reasons)


@pytest.mark.parametrize(
    "make",
    [
        lambda: built(remedied(lost())),
        lambda: remedied(invented_results.yard()),
        lost,
        lambda: remedied(lost()),
        invented_results.yard,
    ],
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


def reviewed(results):
    results.attrs["design_review"] = "Design review: 5 stop, 3 warn; fencecast check yard.toml"
    results.attrs["design_review_stops"] = "; ".join(f"under-mast A {k}–{k + 4} m" for k in range(0, 50, 10))
    return results


def test_the_design_review_has_a_box_of_its_own():
    """Catches: stops buried among the notes, a list that runs down the page, a box where nothing was reviewed."""
    ((head, lines),) = summary_data(reviewed(invented_results.yard())).boxes
    assert head == "Design review: 5 stop, 3 warn, without simulation"
    assert lines[0] == "stop: under-mast A 0–4 m" and lines[-1] == "and 1 more: fencecast check yard.toml" and len(lines) == 5
    assert not any("design review" in note for note in summary_data(reviewed(invented_results.yard())).notes)
    clean = reviewed(invented_results.yard())
    clean.attrs["design_review"], clean.attrs["design_review_stops"] = "Design review: 0 stop, 1 warn; fencecast check y.toml", ""
    assert summary_data(clean).boxes[0][1] == ("No stop. Its other findings: fencecast check y.toml",)
    assert summary_data(invented_results.yard()).boxes == ()


def test_three_boxes_stand_side_by_side_without_touching():
    """Catches: the third box over the second, or off the page."""
    page = plot_summary(reviewed(remedied(lost())))
    assert overlaps(page) == []
    assert len(summary_data(reviewed(remedied(lost()))).boxes) == 3
