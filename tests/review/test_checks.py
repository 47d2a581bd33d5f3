"""Every check fires on the site that has its fault, with the number that geometry gives, and is silent without it.

Catches: a check that never fires, one that fires on a good site, a wrong number, object or severity.
"""

import pytest

from fencecast.findings.checksentences import fix_text, measured_text, why_text
from fencecast.review.review import check
from fencecast.site.review import GROUP_OF, IDS
from review.pairs import PAIRS, WITH_RECORDS
from review.yards import base


@pytest.mark.parametrize("pair", PAIRS, ids=lambda pair: pair.id)
def test_a_check_fires_on_its_fault_and_is_silent_without(pair):
    site = pair.fires()
    found = [f for f in check(site).findings if f.id == pair.id and f.object == pair.object]
    assert len(found) == 1, [f.object for f in check(site).findings if f.id == pair.id]
    assert found[0].severity == pair.severity
    assert found[0].value == pytest.approx(pair.value, abs=max(pair.within, 1e-9))
    for text in (measured_text(site, found[0]), why_text(site, found[0]), fix_text(site, found[0])):
        assert text and "{" not in text.replace("{ dist", "")
    assert [f.object for f in check(pair.silent()).findings if f.id == pair.id] == []


def test_the_base_site_is_silent_but_for_one_note():
    """Catches: noise. Flat angles are told on every site with a far camera."""
    assert [(f.id, round(f.value, 3)) for f in check(base()).findings] == [("metres-per-degree", 6.299)]


def test_every_id_has_a_pair_and_a_group():
    assert {pair.id for pair in PAIRS} | set(WITH_RECORDS) == set(IDS) == set(GROUP_OF)
    assert len(IDS) == len(set(IDS))
