"""The picture of the design review: its data, texts that do not overlap, black that is black in grey."""

import datetime
import re
from dataclasses import replace

import numpy as np
import pytest

import fencecast as fc
from fencecast.show.fence.check import _plan, joined, plot_check, warned_stops
from fencecast.show.fence.checkdata import Marked, check_data
from fencecast.show.paper.page import Page
from review.yards import CONFIGS, A, B, base, box, camera, fence
from show.overlap import overlaps, texts

ACCEPT = [
    {"check": "hidden", "object": "obstacle stack", "reason": "moves out in March", "by": "A", "on": datetime.date(2026, 1, 1)}
]


def odd_site(**more):
    return base(
        cameras=[A | {"position_m": [0.0, 1.5]}, B | {"lens": "wide", "depression_deg": 6.0, "height_m": 2.5},
                 camera("C", [20.0, 12.0], 350.0)],
        obstacles=[box(10, 0.6, 20, 3, 3.0)],
        sections=[fence(), fence(((30, 0), (30, 14)), "side"), fence(((30, 18), (0, 18)), "back")],
        **more,
    )  # fmt: skip


SITES = {
    "demo": lambda: CONFIGS / "estuary-yard.toml",
    "line": lambda: CONFIGS / "gap-under-mast.toml",
    "depot": lambda: CONFIGS / "marsh-depot.toml",
    "good": base,
    "odd": odd_site,
    "accepted": lambda: odd_site(accept=ACCEPT),
    "us": lambda: odd_site(units="us"),
}


@pytest.mark.parametrize("name", SITES)
def test_no_two_texts_overlap_and_none_leaves_the_page(name):
    assert overlaps(plot_check(fc.check(SITES[name](), weather=False))) == []


@pytest.mark.parametrize("name", ["demo", "odd"])
def test_every_number_of_the_list_stands_on_the_plan(name):
    """Catches: a finding that leads nowhere. Findings of the whole site have no place."""
    found = fc.check(SITES[name](), weather=False)
    drawn = " ".join(texts(plot_check(found))).replace(",", " ").split()
    for finding in check_data(found).findings:
        if finding.spans or finding.camera:
            assert drawn.count(str(finding.number)) >= 2, finding


def test_the_data_are_the_review_s():
    """Catches: accepted stops that are listed, or that lose their mark; a stretch of another section."""
    found = fc.check(odd_site(accept=ACCEPT), weather=False)
    data = check_data(found)
    assert [f.id for f in data.findings] == [f.id for f in found.open if f.severity != "note"]
    assert "hidden" not in {f.id for f in data.findings}
    hidden = [m for m in data.marks if m.accepted]
    assert hidden and {m.severity for m in hidden} == {"stop"}
    spans = [(s.section, s.start_m, s.end_m) for f in found.findings for s in f.spans]
    assert [(m.section, m.start_m, m.end_m) for m in data.marks] == spans
    assert data.title.split(" stop")[0] in ("One", "Two", "Three", "Four", "Five", "Six")
    assert "1 accepted" in data.subtitle


def test_stops_are_black_in_grey():
    figure = plot_check(fc.check(CONFIGS / "gap-under-mast.toml", weather=False))
    figure.canvas.draw()
    grey = np.asarray(figure.canvas.buffer_rgba())[..., :3].mean(axis=2)
    # 19 of 64 m of a band 2 mm high: more black than all letters of the page in a row of that height.
    assert int((grey < 40).sum(axis=1).max()) > 19 / 64 * 80 / 25.4 * figure.dpi


def test_near_numbers_share_a_mark():
    up = np.array([0.0, 1.0])
    rows = [(1, np.array([0.0, 0.0]), up), (2, np.array([3.0, 0.0]), up), (3, np.array([9.0, 0.0]), up)]
    assert [text for text, *_ in joined(rows)] == ["1, 2", "3"]


def many_site():
    """So many findings that the list has no room for all: every camera of ten has its head cut, and looks into the sky."""
    turned = [camera(f"K{k}", [3.0 * k, 1.5], 91.5, depression=1.0 + 0.1 * k) for k in range(10)]
    return base(cameras=turned, obstacles=[box(10, 0.2, 14, 3, 3.0), box(20, 1.2, 22, 3, 1.3, name="crate")])


def test_the_plan_names_no_number_that_the_list_does_not_show():
    """Catches: a mark "10, 13" beside a list that stops at 12. The list's numbers are counted from its heads."""
    found = fc.check(many_site(), weather=False)
    data, said = check_data(found), texts(plot_check(found))
    heads = [f"{f.severity}  {f.id}" for f in data.findings]
    listed = sum(text in heads for text in said)
    assert 0 < listed < len(data.findings)
    numbers = {int(n) for text in said if re.fullmatch(r"\d+(, \d+)*", text) for n in text.split(", ")}
    assert numbers and max(numbers) == listed
    hidden = len(found.open) - listed
    assert [text for text in said if text.startswith(f"and {hidden} more (")], said


def test_notes_that_are_not_listed_are_counted():
    """Catches: a list that looks whole while the notes are left out."""
    found = fc.check(CONFIGS / "marsh-depot.toml", weather=False)
    assert found.count("note") == 3
    assert "and 3 more (3 note): see fencecast check" in texts(plot_check(found))


def test_the_key_names_what_is_drawn():
    """Catches: "thin = note" on a plan without one. The base site has one note, which has no place."""
    assert "=" not in check_data(fc.check(base(), weather=False)).subtitle
    gate = base(cameras=[A], sections=[fence(gates=[{"name": "gate", "from_m": 8.0, "to_m": 13.0}])])
    assert "thin line beside = note" in check_data(fc.check(gate, weather=False)).subtitle


def test_a_warning_over_a_stop_is_hatched_in_white():
    """Catches: hatching that black hides. On the page it lies over the black."""
    rows = [("stop", 0, 2.0, 6.0), ("stop", 0, 5.0, 9.0), ("warn", 0, 4.0, 12.0), ("warn", 0, 8.0, 8.5), ("warn", 1, 3.0, 4.0)]
    marks = [Marked(*row, accepted=False) for row in [*rows, ("note", 0, 0.0, 20.0)]]
    assert warned_stops(marks) == [(0, 4.0, 9.0)]
    data = check_data(fc.check(odd_site(), weather=False))
    drawn = replace(data.marks[0], severity="warn", section=1, start_m=2.0, end_m=6.0, accepted=False)
    data = replace(data, marks=(drawn, replace(drawn, severity="stop", start_m=4.0, end_m=9.0)))
    page = Page()
    _plan(page, data, (), page.heading(data.title, data.subtitle))
    white = [c for c in page.axes.collections if len(c.get_colors()) and np.allclose(c.get_colors()[0][:3], 1.0, atol=0.02)]
    assert white and min(c.get_zorder() for c in white) > 5.2  # over the black
