"""cards.pdf of a walk test: director's pages, rules, walkers' cards, cards of later rungs, log, ladder; A4, nothing is scaled."""

from __future__ import annotations

from matplotlib.figure import Figure

from fencecast.prove.walks.planfile import WalkPlan
from fencecast.show.cards.cardpages import draw_cards
from fencecast.show.cards.data import CardsData, cards_data
from fencecast.show.cards.director import draw_director
from fencecast.show.cards.log import draw_ladders, draw_log
from fencecast.show.cards.openpage import draw_open
from fencecast.show.cards.sheets import Sheets
from fencecast.site import Site

__all__ = ["CardsData", "cards_data", "draw_deck", "plot_cards"]


def plot_cards(plan: WalkPlan, site: Site, issue: str = "1") -> list[Figure]:
    """Every page in order; save them with `save_pages`. site: made from the plan's own text; issue: of the pages, as printed."""
    return draw_deck(cards_data(plan, site, issue))


def draw_deck(data: CardsData) -> list[Figure]:
    """The pages of some data, in order."""
    sheets = Sheets(data)
    draw_director(sheets, data)
    draw_open(sheets, data)
    for pack in data.packs:
        draw_cards(sheets, data, pack)
    draw_log(sheets, data)
    draw_ladders(sheets, data)
    return sheets.figures()
