"""Corners, several rules on one place, planted faults of a drawing: what pairs of one fault do not show."""

import numpy as np
import pytest

import fencecast as fc
from fencecast.review.asked import Asked
from fencecast.review.cover import cover
from fencecast.review.finding import Span
from review.yards import LINE, A, B, base, box, fence, found

BACK = fence(((30.0, 0.0), (30.0, 20.0), (0.0, 20.0), (0.0, 0.0)), "back", barrier="none")


def along(offset, **more):
    return {"kind": "line", "perimeter": "fence", "offset_m": offset} | more


def test_paths_that_leave_over_a_neighbouring_section_are_no_way_round_a_line_s_end():
    """Catches: a warning at every corner of every yard. The same line warns where the fence ends openly."""
    assert [f.object for f in found(base(rules=[along(1.5)]), "line-end")] == ["fence"]
    closed = base(
        sections=[fence(), BACK], rules=[along(1.5), LINE | {"points_m": [[29.0, 0.0], [29.0, 19.0], [1.0, 19.0], [1.0, 0.0]]}]
    )
    assert [f.object for f in found(closed, "line-end") if f.object == "fence"] == []


def test_several_rules_are_an_or_whatever_their_order():
    """Catches: the last rule's word for a place that an earlier one watches well."""
    near = LINE | {"cameras": ["A"]}
    far = LINE | {"cameras": ["B"]}
    moved = {"b": {"position_m": [90.0, 1.5]}}
    ways = [cover(base(rules=rules, **moved)) for rules in ([near, far], [far, near], [near])]
    ceilings = [way.per_place(way.ceiling) for way in ways]
    assert ceilings[0] == pytest.approx(ceilings[1], abs=1e-12)
    assert ceilings[0] == pytest.approx(np.maximum(ceilings[2], ceilings[0]), abs=1e-12) and ceilings[0].min() > 0.5


def test_planted_faults_of_a_drawing_are_found_where_geometry_can_find_them():
    """The faults that were accepted in silence: each is named by some stop or warning."""
    yard = {"sections": [fence(), BACK]}
    inside = {"a": {"position_m": [1.0, 1.5]}, "b": {"position_m": [29.0, 1.5]}}
    rule = [along(0.5), {"kind": "line", "perimeter": "back", "offset_m": 0.5}]
    good = {f.id for f in fc.check(base(**yard, **inside, rules=rule)).findings if f.severity != "note"}
    faults = {
        "a section reversed": ("inside-reversed", base(sections=[fence(inside="right"), BACK], **inside, rules=rule)),
        "a camera that looks out of the yard": (
            "sees-no-fence",
            base(**yard, a=inside["a"] | {"bearing_deg": 195.0, "depression_deg": 40.0}, b=inside["b"], rules=rule),
        ),
        "a building outside": (
            "outside-yard", base(**yard, **inside, rules=rule, obstacles=[box(310, 5, 320, 12, 6.0)]),
        ),
        "feet typed for metres, of a section": (
            "feet-for-metres", base(sections=[fence(), fence(((98.43, 0.0), (98.43, 65.6)), "side")], **inside, rules=rule[:1]),
        ),
        "feet typed for metres, of a camera": (
            "feet-for-metres", base(cameras=[A, B, A | {"mark": "A3", "height_m": 14.0, "position_m": [9.0, 1.5]}]),
        ),
        "feet typed for metres, of a barrier": ("feet-for-metres", base(sections=[fence(barrier_height_m=8.0)])),
        "sections that do not meet": ("sections-apart", base(sections=[fence(), fence(((30.0, 3.0), (30.0, 20.0)), "side")])),
        "a mast outside": (
            "outside-yard", base(**yard, **inside, mounting=[{"name": "m", "points_m": [[-300.0, 5.0]], "heights_m": [4.0]}]),
        ),
        "a rule on the wrong side": ("rule-outside", base(**yard, **inside, rules=[along(-1.5), rule[1]])),
        "an aim above the horizon": ("over-horizon", base(a={"depression_deg": -13.0})),
        "a rule that hears the wrong camera": ("idle-camera", base(rules=[LINE | {"cameras": ["B"]}], b={"bearing_deg": 200.0})),
    }  # fmt: skip
    for words, (id, site) in faults.items():
        loud = {f.id for f in fc.check(site).findings if f.severity != "note"}
        assert id in loud, words
        assert id not in good, words


def test_a_fence_without_a_yard_or_a_second_camera_is_reviewed_too():
    """Catches: a division by nothing, a union of no shapes. One camera that sees nothing, nobody heard, areas alone."""
    lone = base(
        cameras=[A | {"bearing_deg": 270.0}], rules=[{"kind": "area", "points_m": [[0, 1], [30, 1], [30, 8], [0, 8], [0, 1]]}]
    )
    assert fc.check(lone).count("stop") >= 1
    half = fc.without_cameras(base(rules=[LINE | {"cameras": ["A"]}, LINE | {"cameras": ["B"]}]), ("A",))
    assert "camera A" not in {f.object for f in fc.check(half).findings}


def test_a_stop_is_never_taken_for_the_edge_of_a_warning():
    """Catches: two metres that cannot meet the requirement, dropped because a warning lies on them; and gaps and short stretches
    by their limits: joined over 1 m, dropped under 1 m, an edge up to 3 m long and 1 m away."""
    asked = Asked(base(), cover(base()))

    def spans(severity, *stretches):
        middle = asked.cover.places.middle_m
        bad = np.any([(middle > a) & (middle < b) for a, b in stretches], axis=0)
        return [(span.start_m, span.end_m) for span, _ in asked.stretches(bad, severity)]

    assert spans("stop", (2.0, 3.0), (4.0, 5.0), (7.0, 7.5), (9.0, 10.0)) == [(2.0, 5.0), (9.0, 10.0)]
    asked.reported = [(Span(0, 10.0, 15.0), "warn")]
    assert spans("stop", (15.0, 17.0)) == [(15.0, 17.0)] and spans("warn", (15.0, 17.0)) == []
    assert spans("warn", (15.0, 18.5)) == [(15.0, 18.5)] and spans("warn", (16.5, 18.0)) == [(16.5, 18.0)]
    asked.reported = [(Span(0, 10.0, 15.0), "stop")]
    assert spans("stop", (16.0, 18.0)) == [] and spans("note", (8.0, 9.5)) == [] and spans("", (16.0, 18.0)) == [(16.0, 18.0)]
