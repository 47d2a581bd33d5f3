"""Words of walkers' cards: what a walker reads, and that no probability and no reason is in them."""

from __future__ import annotations

import re

import fencecast as fc
from fencecast.findings.cardwords import HOW, card_words, length, tenths
from fencecast.prove.walks.cards import cards_of
from fencecast.site.schema import GAITS
from prove.aimyards import camera, yard
from prove.cardplans import estuary_plan, kind_of, place_of, plan_of, trials_of
from prove.invented_walks import SITE, invented_plan


def plain(text):
    """With common spaces: numbers are kept on one line with their units."""
    return text.replace("\u00a0", " ")


def lines_of(card, units="si"):
    return [plain(text) for text, _ in card_words(card, units).lines]


def test_a_card_of_the_short_yard():
    card = cards_of(invented_plan(), fc.load_site(SITE))[1]
    words = card_words(card)
    assert (words.number, words.walker, words.place) == ("2", "walker A", "front 9")
    assert lines_of(card) == [
        "Start: back to the fence, feet 0.3 m inside.",
        "Finish: 8 m inside, straight ahead.",
        "Crouch and walk: knees bent, no higher than a table.",
        "Inwards, 7.7 m in about 6 s, in one go.",
    ]
    assert [bold for _, bold in words.lines] == [False, False, True, False]
    assert (plain(words.label), plain(words.end), words.barrier) == ("A 9 m", "8 m", True)


def test_starts_and_finishes(request):
    """Quay, gate, bend, lanes to both sides, outwards; feet where the site has them."""
    site = fc.load_site(request.config.rootpath / "configs/estuary-yard.toml")
    cards = cards_of(estuary_plan(site), site)
    first = {}
    for card in cards:
        first.setdefault((card.place, card.direction), card)
    assert lines_of(first["quay 24.5", "in"])[:2] == [
        "Start: on the line, feet 0.3 m inside.",
        "Finish: 7.8 m inside, 1.9 m to your left.",
    ]
    assert not card_words(first["quay 24.5", "in"]).barrier
    assert lines_of(first["east fence 12", "in"])[0] == "Start: in the gate, feet 0.3 m inside."
    assert lines_of(first["north fence 36.5", "in"])[1] == "Finish: 7.8 m inside, 1.9 m to your right."
    assert lines_of(first["quay 40.5", "in"])[1] == "Finish: 5.5 m inside, straight ahead."
    out = first["west fence 20.5", "out"]
    assert lines_of(out)[:2] == ["Start: 8 m inside, facing the fence.", "Finish: at the fence, straight ahead."]
    assert lines_of(out)[3].startswith("Outwards, 7.7 m in about 6 s")
    assert lines_of(out, "us")[0] == "Start: 8 m (26 ft) inside, facing the fence."


def test_a_walk_from_outside_and_walls():
    wall = {"name": "south", "points_m": [[0.0, 0.0], [48.0, 0.0]], "inside": "left", "barrier": "wall"}
    site = yard([camera()], perimeter=[wall])
    place = place_of(site, "south", 9.0)
    far = place.model_copy(update={"start_m": (9.0, -4.0)})
    for where, words in ((place, "Start: back to the wall, feet 0.3 m inside."), (far, "Start: 4 m outside.")):
        kinds = [kind_of(k, where, "walk", ["K1"], 0.9, way) for k, way in enumerate(("in", "out"))]
        plan = plan_of(site, ["K1"], [where], kinds, trials_of([], kinds), [])
        cards = {card.direction: card for card in cards_of(plan, site)}
        assert lines_of(cards["in"])[0] == words
        assert lines_of(cards["out"])[1].startswith("Finish: at the wall" if where is place else "Finish: 4 m outside")


def test_every_gait_has_plain_words():
    assert set(HOW) == set(GAITS) and all(text.endswith(".") for text in HOW.values())


def test_lengths_have_no_naked_nought():
    assert [tenths(x) for x in (8.0, 7.96, 7.94, 10.0, -0.04, 0.3)] == ["8", "8", "7.9", "10", "0", "0.3"]
    assert plain(length(8.0, "us")) == "8 m (26 ft)" and plain(length(8.0, "si")) == "8 m"


def test_no_probability_and_no_reason_on_a_card(request):
    """A control reads like any other card; no claim, no Pd, no weather."""
    site = fc.load_site(request.config.rootpath / "configs/estuary-yard.toml")
    plan = estuary_plan(site)
    for card in cards_of(plan, site):
        words = card_words(card)
        text = " ".join([words.number, words.walker, words.place, *lines_of(card), words.label, words.end])
        assert not re.search(r"0\.\d\d|Pd|chance|claim|control|weak|miss|C\d\b|night", text), text
