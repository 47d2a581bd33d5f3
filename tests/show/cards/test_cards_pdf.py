"""cards.pdf: nothing overlaps or leaves the page, field words are large, no probability but for the director, same bytes."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from pypdf import PdfReader

import fencecast as fc
from fencecast.cautions import CAUTION
from fencecast.findings.cardwords import HOW, CardWords
from fencecast.findings.walkwords import WEAK_PLACES
from fencecast.show.cards.cardpages import PLACE_MM, STEPS_MM, laid_out
from fencecast.show.cards.deck import cards_data, draw_deck
from fencecast.show.cards.lanes import ALARM_ORDER
from fencecast.show.paper import style
from fencecast.show.paper.page import save_pages
from prove.cardplans import depot_plan, estuary_plan, hostile_plan, hostile_site
from prove.invented_walks import SITE, invented_plan
from show.overlap import overlaps, text_boxes, texts
from show.wording import wrong_words

FIELD_POINTS = 12.0
ODD = "a$b$ \\frac{1}{2} {x} %s <b>&amp; 'q' \"w\" _y_ ^z"


def shortened(data):
    """Some cards of the first pack, two of the last one, the first rows of the log, some predictions: pages cost time."""
    first = data.packs[0]
    outwards = [card for card in first.cards if card.lane.start[1] < -1.0][:1]
    cards = (*first.cards[:3], *first.cards[40:43], *outwards)
    packs = (replace(first, cards=cards), *(replace(pack, cards=pack.cards[:2]) for pack in data.packs[1:][-1:]))
    rows = tuple((name, row[:12]) for name, row in data.log.rows[:2])
    director = replace(data.director, predictions=data.director.predictions[:100])
    return replace(data, director=director, packs=packs, log=replace(data.log, rows=rows))


@pytest.fixture(scope="module")
def decks(request):
    """Pages by name, with the data that they are drawn from."""
    root, hostile = request.config.rootpath, hostile_site()
    estuary = fc.load_site(root / "configs/estuary-yard.toml")
    plans = {
        "short": (invented_plan(1), fc.load_site(SITE)),
        "estuary": (estuary_plan(estuary), estuary),
        "hostile": (hostile_plan(hostile), hostile),
    }
    data = {name: shortened(cards_data(*case)) for name, case in plans.items()}
    return {name: (each, draw_deck(each)) for name, each in data.items()}


@pytest.fixture(scope="module")
def pages(decks, tmp_path_factory):
    """The text of every page of every PDF, the kind of page first."""
    folder, found = tmp_path_factory.mktemp("cards"), {}
    for name in ("short", "estuary"):
        save_pages(decks[name][1], folder / f"{name}.pdf")
        texts_of = [page.extract_text().replace("\u00a0", " ") for page in PdfReader(folder / f"{name}.pdf").pages]
        found[name] = [(text.split(" ", 1)[0].strip("'S,·"), text) for text in texts_of]
    return found


def kind_of_page(figure):
    return texts(figure)[0].split(" ", 1)[0]


def test_nothing_overlaps_or_leaves_the_page(decks):
    for name, (_, figures) in decks.items():
        for number, figure in enumerate(figures, start=1):
            assert not overlaps(figure), (name, number)
            size = sorted(25.4 * figure.get_size_inches())
            np.testing.assert_allclose(size, (210.0, 297.0))


def test_the_log_of_twenty_cameras_has_a_box_for_each(decks):
    """Twenty heads and twenty boxes a row, on paper that lies on its long side; eight and fewer stand upright."""
    for name, cameras, wide in (("short", 2, False), ("estuary", 7, False), ("hostile", 20, True)):
        data, figures = decks[name]
        figure = next(each for each in figures if kind_of_page(each) == "LOG")
        assert len(data.log.marks) == cameras and set(data.log.marks) <= set(texts(figure))
        width, height = 25.4 * figure.get_size_inches()
        assert (width > height) == wide
        lines = max((each.get_segments() for each in figure.axes[0].collections), key=len)
        rows = len(lines) // (4 * cameras)
        assert len(lines) == 4 * cameras * rows and 20 <= rows <= 28, (name, rows)
        assert min(np.array(lines).reshape(-1, 2).min(axis=0)) > 0.0 and np.array(lines)[..., 0].max() < width - 12.0


def test_what_is_read_in_the_field_is_large(decks):
    """Cards, rules, ladder: all between head and foot has twelve points, but for the line that says whose card it is."""
    for data, figures in decks.values():
        for figure in figures:
            if kind_of_page(figure) not in ("WALKER'S", "WALKER", "LADDER"):
                continue
            height = 25.4 * figure.get_size_inches()[1]
            for text in figure.axes[0].texts:
                y = text.get_position()[1]
                if 18.0 < y < height - 16.0 and not text.get_text().startswith(data.title[:50]):
                    assert text.get_fontsize() >= FIELD_POINTS, text.get_text()


def test_no_line_of_a_card_runs_into_its_boxes(decks):
    """The boxes to write in stay empty, whatever the card says. Catches: a card of too many lines."""
    for name, (_, figures) in decks.items():
        for figure in figures:
            if kind_of_page(figure) != "WALKER'S":
                continue
            height = 25.4 * figure.get_size_inches()[1]
            boxes = [box for box in figure.axes[0].patches if hasattr(box, "get_height") and 6.5 < box.get_height() < 7.5]
            boxes = [box for box in boxes if box.get_width() < 100.0]  # not the bar of the page
            assert boxes
            for text, left, bottom, right, top in text_boxes(figure):
                for box in boxes:
                    x, y = box.get_xy()
                    across = min(right, x + box.get_width()) - max(left, x)
                    down = min(height - bottom, y + box.get_height()) - max(height - top, y)
                    assert across < 0.1 or down < 0.1, (name, text)


def test_the_longest_card_has_room():
    """Three digits everywhere, feet, a gait of two lines: by the first step with which all lines end above the boxes."""
    lines = (
        ("Start: 199.5\u00a0m (655\u00a0ft) inside, facing the fence.", False),
        ("Finish: 199.5\u00a0m (655\u00a0ft) outside, 120.5\u00a0m (395\u00a0ft) to your right.", False),
        (HOW["crouch"], True),
        ("Outwards, 399.5\u00a0m in about 1230\u00a0s, in one go.", False),
    )
    card = CardWords("200", "walker B", "place", lines, None, "", "", True)
    longest, short = (laid_out(each, 57.0, 86.6, 56.5) for each in (card, replace(card, lines=lines[2:3])))
    assert longest[-1][0] <= 55.7 and short[-1][0] == pytest.approx(PLACE_MM + 3 * STEPS_MM[0])
    assert " ".join(text for _, text, _ in longest) == " ".join(text for text, _ in lines)


def test_every_word_of_the_data_is_on_the_pages(decks):
    """In one line or wrapped. Catches: a claim, a rule, a card or a rung left out."""
    data, figures = decks["estuary"]
    flat = " ".join(texts(figure) and " ".join(texts(figure)) for figure in figures).replace("\u00a0", " ")
    director = data.director
    said = [director.finding, *director.rules, *data.open.walker_rules, *data.open.caller_rules, *director.statements]
    said += [data.open.alarm_line, data.open.people, *data.log.notes]
    said += [f"{row.where} {row.walks} {row.misses} {row.pd} {row.chance} {row.shows}" for row in director.claims]
    said += [f"{rung.heading} {seen} {done}" for each in director.ladders for rung in each.rungs for seen, done in rung.outcomes]
    said += [text for pack in data.packs for card in pack.cards for text, _ in card.lines]
    for text in said:
        assert all(word in flat for word in text.replace("\u00a0", " ").split()), text
    for pack in data.packs:
        for card in pack.cards:
            assert card.number in flat and card.place in flat and card.label.replace("\u00a0", " ") in flat
    predictions = [row for row in director.predictions if row.claim == "control"]
    assert len(predictions) == 2 and flat.count("walk, out") == 2


def test_each_page_says_what_it_is_of(decks):
    """Title, issue, page k of n, site, seed, version, caution; weak places are named only where they show."""
    for name, (data, figures) in decks.items():
        for number, figure in enumerate(figures, start=1):
            drawn = texts(figure)
            flat = " ".join(drawn)
            assert f"page {number} of {len(figures)}" in drawn and data.foot in flat and CAUTION in flat, (name, number)
            assert (WEAK_PLACES in flat) == (kind_of_page(figure) == "DIRECTOR'S")
            assert not wrong_words(drawn)
    data = decks["short"][0]
    assert re.fullmatch(
        r"walk test, issue 1 · fencecast 0\.1\.0 · seed 1 · site file [0-9a-f]{8} · plan of 2026-11-29 18:00", data.foot
    )


def test_only_the_director_reads_probabilities(pages):
    """On cards, log and ladder no number with two decimals, no Pd, no chance, no claim's place."""
    kinds = set()
    for found in pages.values():
        for kind, text in found:
            kinds.add(kind)
            text = text.replace("fencecast 0.1.0", "")
            if kind == "DIRECTOR":
                continue
            assert not re.search(r"\b0?\.\d\d|Pd|chance|weak|N50|[<>]0", text), text
            assert kind == "LADDER" or not re.search(r"\bC\d\b|claim|control", text), text
    assert kinds == {"DIRECTOR", "WALKER", "LOG", "LADDER"}
    assert any("0.74" in text and WEAK_PLACES in text for kind, text in pages["estuary"] if kind == "DIRECTOR")


def test_pages_come_in_their_order(pages):
    """Director, cards, later cards, log, ladder; predictions go to a page of their own where they do not fit."""
    assert list(dict.fromkeys(kind for kind, _ in pages["short"])) == ["DIRECTOR", "WALKER", "LOG", "LADDER"]
    kinds = [kind for kind, _ in pages["estuary"]]
    assert kinds[:2] == ["DIRECTOR", "DIRECTOR"] and kinds[2:] == ["WALKER"] * 3 + ["LOG"] * (len(kinds) - 6) + ["LADDER"]
    later = pages["estuary"][4][1]
    assert "only when the director asks for it" in later and "PACK 3" in later
    assert "only when" not in pages["estuary"][3][1].replace("pack 2: only when", "")


def test_a_control_looks_like_any_other_card(decks):
    """Its fence is ahead and its way outwards: nothing else tells it."""
    data, figures = decks["estuary"]
    control = next(card for card in data.packs[0].cards if card.lines[-1][0].startswith("Outwards"))
    other = data.packs[0].cards[0]
    assert [bold for _, bold in control.lines] == [bold for _, bold in other.lines]
    assert control.lane.finish[1] > control.lane.start[1]


def test_the_same_plan_gives_the_same_bytes(decks, tmp_path):
    """Catches: a date, a random name of an object in the PDF."""
    data, figures = decks["short"]
    for name, drawn in (("one", figures[2:]), ("other", draw_deck(data)[2:])):
        save_pages(drawn, tmp_path / name)
    assert (tmp_path / "one").read_bytes() == (tmp_path / "other").read_bytes()
    assert b"CreationDate" not in (tmp_path / "one").read_bytes()


def test_odd_texts_are_printed_as_they_are(tmp_path):
    """Signs of other languages of markup, and a script that the font lacks, in title, place and mark."""
    site = fc.load_site(SITE)
    plan = invented_plan(1)
    places = tuple(place.model_copy(update={"place": f"{k} $x$ 東"}) for k, place in enumerate(plan.places))
    names = {old.place: new.place for old, new in zip(plan.places, places)}
    kinds = tuple(kind.model_copy(update={"place": names[kind.place]}) for kind in plan.kinds)
    claim = plan.claims[0].model_copy(update={"where": ODD})
    odd = plan.model_copy(update={"title": ODD, "places": places, "kinds": kinds, "marks": ("$W$", "{E}"), "claims": (claim,)})
    data = shortened(cards_data(odd, site, issue="2 $b$"))
    figures = draw_deck(replace(data, packs=(replace(data.packs[0], cards=data.packs[0].cards[:1]),)))
    flat = " ".join(" ".join(texts(figure)) for figure in figures)
    assert ODD in flat and "0 $x$ 東" in flat and "$W$" in flat and "issue 2 $b$" in flat
    save_pages(figures[3:4], tmp_path / "odd.pdf")
    assert not overlaps(figures[3])


def test_walker_and_caller_have_a_page_of_their_own(decks):
    """What they may not see is not on it, and what they must do stands nowhere else. Catches: rules on the director's page."""
    for data, figures in decks.values():
        (page,) = [figure for figure in figures if kind_of_page(figure) == "WALKER"]
        drawn = " ".join(texts(page)).replace("\u00a0", " ")
        for rule in (*data.open.walker_rules, *data.open.caller_rules):
            assert rule in drawn
        director = [text for figure in figures if kind_of_page(figure) == "DIRECTOR'S" for text in texts(figure)]
        assert director and not any("Keep your cards" in text for text in director)


def test_the_alarm_line_is_drawn_on_every_lane(decks):
    """As many dashed lines as cards whose walk meets an alarm line, and at the box for the time stands how far inside."""
    for name, (data, figures) in decks.items():
        cards = [card for pack in data.packs for card in pack.cards]
        met = [card for card in cards if card.alarm is not None]
        dashed = [
            line for figure in figures for line in figure.axes[0].lines if line.get_zorder() == ALARM_ORDER and line.is_dashed()
        ]
        assert met and len(dashed) == len(met), name
        for card in cards:
            assert (card.alarm is None) == (card.over == "over line")
        drawn = [text for figure in figures for text in texts(figure)]
        assert {card.over for card in cards} <= set(drawn)


def test_a_plan_without_claims_has_no_ladder(request):
    site = fc.load_site(request.config.rootpath / "configs/marsh-depot.toml")
    data = shortened(cards_data(depot_plan(site), site))
    figures = draw_deck(data)
    kinds = [kind_of_page(figure).strip("'S,·") for figure in figures]
    assert "LADDER" not in kinds and kinds[-1] == "LOG" and not data.director.limits
    assert "No ladder, for no claim is made: walk every card once" in texts(figures[0])
    assert "Walk test: what is to be learnt" in texts(figures[0]) and not overlaps(figures[0])
    assert min(text.get_fontsize() for figure in figures for text in figure.axes[0].texts) >= style.SMALL
