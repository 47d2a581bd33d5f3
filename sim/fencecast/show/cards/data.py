"""What the cards of a walk test draw: everything on the pages, as data, from the plan and its site alone."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fencecast.cautions import CAUTION
from fencecast.findings.cardwords import CardWords, card_words
from fencecast.findings.walkladder import MOST_MISSES, LadderWords, ladders, limit_rows
from fencecast.findings.walkplan import without_claim
from fencecast.findings.walkrules import PEOPLE, WALKER_RULES, alarm_line_words, caller_rules, log_notes, rules
from fencecast.findings.walkwords import (
    WEAK_PLACES,
    ClaimRow,
    PredictionRow,
    claim_rows,
    finding,
    prediction_rows,
    statements,
)
from fencecast.prove.walks.cards import cards_of, packs_of, walkers_of
from fencecast.prove.walks.planfile import WalkPlan
from fencecast.show.aim.plandata import PlanSection, plan_buildings, plan_sections
from fencecast.show.paper.labels import short_marks
from fencecast.site import Site


@dataclass(frozen=True, eq=False)
class LanesData:
    """The plan, in the site's metres, grid north up. lanes: (start, finish, role) of every place; cameras: (x, y) of each."""

    sections: tuple[PlanSection, ...]
    buildings: tuple[tuple[str, np.ndarray], ...]
    cameras: tuple[tuple[float, float], ...]
    lanes: tuple[tuple[tuple[float, float], tuple[float, float], str], ...]


@dataclass(frozen=True, eq=False)
class DirectorData:
    """The director's pages, in the order in which they are read."""

    bar: str
    finding: str
    claims: tuple[ClaimRow, ...]
    lanes: LanesData
    rules: tuple[str, ...]
    alarm_line: str
    ladders: tuple[LadderWords, ...]
    most_misses: int
    limits: tuple[tuple[str, tuple[str, ...]], ...]
    statements: tuple[str, ...]
    predictions: tuple[PredictionRow, ...]


@dataclass(frozen=True)
class OpenData:
    """The page for walker and caller: nothing on it but what they do, and where the alarm line lies."""

    bar: str
    walker_rules: tuple[str, ...]
    caller_rules: tuple[str, ...]
    alarm_line: str
    people: str


@dataclass(frozen=True, eq=False)
class PackData:
    """Cards that are handed out together. bar: stands above each of their pages; name: `pack 2`, "" when there is but one."""

    bar: str
    name: str
    cards: tuple[CardWords, ...]


@dataclass(frozen=True)
class LogData:
    """The log. marks: of every camera, short; key: of what was shortened; rows: (name of the pack, (trial, walker), ...);
    notes: what columns mean."""

    bar: str
    marks: tuple[str, ...]
    key: str
    rows: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class CardsData:
    """All pages. foot: what stands on every one of them beside the title and the number of the page."""

    title: str
    issue: str
    foot: str
    caution: str
    weak_places: str
    director: DirectorData
    open: OpenData
    packs: tuple[PackData, ...]
    log: LogData


def cards_data(plan: WalkPlan, site: Site, issue: str = "1") -> CardsData:
    """Every page as data; site: made from the plan's own text; issue: of these pages, as printed."""
    walkers, units, packs = walkers_of(plan), site.units, packs_of(plan)
    facts = cards_of(plan, site)
    cards = {card.trial: card_words(card, units) for card in facts}
    alarm_line = alarm_line_words(facts, units)
    short, key = short_marks(plan.marks)
    several = len(packs) > 1
    return CardsData(
        plan.title,
        issue,
        f"walk test, issue {issue} · fencecast {plan.version} · seed {plan.seed} · site file {plan.site_sha256[:8]} · "
        f"plan of {plan.created.replace('T', ' ')[:16]}",
        plan.caution or CAUTION,
        WEAK_PLACES,
        DirectorData(
            "DIRECTOR'S PAGE · not for walkers or operators: it shows the predictions and the weak places",
            finding(plan),
            claim_rows(plan),
            LanesData(
                plan_sections(site),
                plan_buildings(site),
                tuple((float(camera.position_m[0]), float(camera.position_m[1])) for camera in site.camera),
                tuple((place.start_m, place.finish_m, place.role) for place in plan.places),
            ),
            rules(plan),
            alarm_line,
            ladders(plan),
            MOST_MISSES,
            limit_rows(plan),
            (*without_claim(plan), *statements(plan)),
            prediction_rows(plan),
        ),
        OpenData(
            "WALKER AND CALLER · may lie open: no plan and no predictions on this page",
            WALKER_RULES,
            caller_rules(plan),
            alarm_line,
            PEOPLE,
        ),
        tuple(
            PackData(_bar(pack.number), f"pack {pack.number}" if several else "", tuple(cards[trial] for trial in pack.trials))
            for pack in packs
        ),
        LogData(
            "LOG · no predictions on this page: it may lie open",
            tuple(short[mark] for mark in plan.marks),
            key,
            tuple(
                (f"pack {pack.number}" if pack.number > 1 else "", tuple((f"{trial}", walkers[trial]) for trial in pack.trials))
                for pack in packs
            ),
            log_notes(facts),
        ),
    )


def _bar(pack: int) -> str:
    if pack == 1:
        return "WALKER'S CARDS · cut along the lines; give each walker his own, in order"
    return f"WALKER'S CARDS, PACK {pack} · only when the director asks for it; keep it closed until then"
