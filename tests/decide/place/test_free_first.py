"""What costs nothing comes first: a rule that does not hear the camera that sees is mended before any camera is bought."""

import pytest

from fencecast import place
from fencecast.decide.freechanges import named_changes
from fencecast.decide.place.demand import demand_of
from fencecast.decide.place.freefirst import free_first, with_free_changes
from fencecast.decide.remedybench import Bench
from fencecast.site import parse_site
from kernels.kernel_sites import CAMERA, LINE, NIGHT, site_text

TWO = (CAMERA | {"position_m": [-4.0, 1.0]}, CAMERA | {"mark": "C2", "position_m": [44.0, 1.0], "aim_m": [28.0, 1.0]})
DEAF = LINE | {"cameras": ["C1"]}


def yard(rule=DEAF):
    return parse_site(site_text(camera=TWO, rule=(rule,), weather=(NIGHT,), segment_length_m=4.0))


def short_m(site, judged):
    demand = demand_of(site, judged.weather, 7, 1, False)
    bench = Bench(demand)
    return bench.short_m(bench.pd(site, "place free", 8)[0])


def test_a_camera_that_is_not_heard_is_heard_first():
    """Catches: cameras bought for metres that a present camera sees; the wrong camera named; the same change twice."""
    site, open_to_all = yard(), yard(LINE)
    assert short_m(site, site) > short_m(open_to_all, site) + 4.0, "the fault must matter"
    changed, words = free_first(site, demand_of(site, site.weather, 7, 1, False))
    assert words == ("let rule 1 (fence) hear C2 too",)
    assert set(changed.rule[0].cameras) == {"C1", "C2"}
    assert short_m(changed, site) == pytest.approx(short_m(open_to_all, site))
    assert [change.words for change in named_changes(changed)] == []


def test_nothing_is_changed_where_all_are_heard_or_all_go():
    """Catches: a change without a gain; present cameras heard in a layout from scratch."""
    site = yard(LINE)
    assert with_free_changes(site, site.weather, 7, 1, False) == (site, ())
    deaf = yard()
    assert with_free_changes(deaf, deaf.weather, 7, 1, True) == (deaf, ())


def test_a_proposal_begins_with_it_and_every_row_has_it():
    """Catches: a free change in the words and not in the site; a front whose first row lacks it."""
    proposal = place(yard(), cameras=1, crossings=64, candidates=12, precision=0.1)
    assert proposal.changes[0] == "let rule 1 (fence) hear C2 too"
    assert all(row.changes[:1] == proposal.changes[:1] for row in proposal.rows)
    assert "C2" in proposal.site.rule[0].cameras and all("C2" in row.site.rule[0].cameras for row in proposal.rows)
