"""A walk test as it was fixed, for the report: what is claimed, how many walks, the chance of passing, what is predicted where.

Tests: tests/findings/test_proved_words.py.
"""

from __future__ import annotations

from collections import Counter

from fencecast.estimate.placecodes import section_letters, whole
from fencecast.findings.blocks import LEFT, NOTE, RIGHT, UNBROKEN, Block, Cell, Heading, Line, Table
from fencecast.findings.walkrules import PEOPLE
from fencecast.findings.walkwords import GAIT_NAMES, claim_rows, counts, finding, share, statements
from fencecast.findings.words import confidence_text, first_upper, in_class, interval_text, pd_text, plural, requirement_text
from fencecast.prove.walks.cards import rungs_of
from fencecast.prove.walks.planfile import WalkPlan
from fencecast.site import parse_site

PREDICTED = "What was predicted before anyone walked"
# How the plan's site file and that of the results belong together, by `Proof.plan_is_of`.
TIES = {
    "planned": "The plan was made from the site file of these results.",
    "calibrated": (
        "The plan was made before the walks, from the site file without its calibration; the results of this report use what "
        "walks taught."
    ),
    "built": "The plan was made from the design; the results of this report are of the site as built.",
    "changed": (
        "The site file was changed since the plan was made, but for fences, obstacles, rules and marks of cameras: predictions "
        "here are the plan's own, not those of these results."
    ),
}


def plan_finding(plan: WalkPlan) -> str:
    """How many walks, what they would show, and the chance of passing as predicted."""
    return f"{finding(plan)}."


def plan_blocks(plan: WalkPlan, plan_is_of: str) -> list[Block]:
    """Claims, time and people, predictions by place."""
    claims = [
        [row.claim, row.where, row.walks, row.misses or "", row.pd, row.chance, row.shows] for row in claim_rows(plan)
    ]  # fmt: skip
    columns = [
        ("claim", UNBROKEN), ("where", LEFT), ("walks", RIGHT), ("misses\nallowed", RIGHT), ("predicted Pd", LEFT),
        ("chance of passing: as predicted / low end / prior", LEFT), ("shows", LEFT),
    ]  # fmt: skip
    blocks: list[Block] = [
        Heading("Claims"),
        Table.of(columns, claims),
        Line(people_sentence(plan)),
        Line(TIES[plan_is_of], NOTE),
    ]
    blocks += [Heading(PREDICTED), _predictions(plan)]
    blocks.append(
        Line(
            "Of walks as the cards say, from the values of the site file, with the range over what was not known of N50 and "
            "correlation then. The list of weak places is for those who need it.",
            NOTE,
        )
    )
    return blocks


def plan_limits(plan: WalkPlan) -> tuple[str, ...]:
    """What the walks show and what they do not."""
    return statements(plan)


def people_sentence(plan: WalkPlan) -> str:
    """Minutes and people."""
    first, later, controls = counts(plan)
    more = [f"up to {later:,} more as the ladder asks"] if later else []
    more += [f"{plural(controls, 'control')} against the rule's direction"] if controls else []
    also = f" ({', '.join(more)})" if more else ""
    return (
        f"{first:,} walks{also} take about {plan.minutes:.0f} minutes: one walks, one calls and logs; walkers A and B swap once. "
        f"{PEOPLE}"
    )


def place_codes(plan: WalkPlan) -> dict[str, str]:
    """Codes of all places by their names."""
    site = parse_site(plan.site_toml, "the site of the plan")
    letters = dict(zip((section.name for section in site.perimeter), section_letters(site)))
    return {place.place: f"{letters[place.section]} {whole(place.chainage_m)} m" for place in plan.places}


def _predictions(plan: WalkPlan) -> Table:
    codes = place_codes(plan)
    walked = Counter(trial.kind for trial in plan.trials if not trial.control)
    claims: dict[str, list[str]] = {}
    for trial in plan.trials:
        if not trial.control:
            claims.setdefault(trial.kind, []).append(trial.claim or "none")
    rows: list[list[str | Cell]] = []
    for kind in plan.kinds:
        if not walked[kind.kind]:
            continue
        alone = ", ".join(f"{mark} {pd_text(pd)}" for mark, pd in kind.pd_camera.items()) or "none"
        way = "" if kind.direction == "in" else ", outwards"
        rows.append(
            [
                Cell(codes[kind.place], below=kind.place), f"{first_upper(GAIT_NAMES.get(kind.gait, kind.gait))}{way}",
                ", ".join(dict.fromkeys(claims[kind.kind])), f"{walked[kind.kind]:,}",
                interval_text(kind.pd, kind.pd_low, kind.pd_high), alone,
            ]
        )  # fmt: skip
    columns = [
        ("place", UNBROKEN), ("how", LEFT), ("claim", LEFT), ("walks", RIGHT), ("predicted Pd", RIGHT),
        ("each camera alone", LEFT),
    ]  # fmt: skip
    return Table.of(columns, rows)


def client_plan_finding(plan: WalkPlan) -> str:
    """The same without places."""
    first, later, _ = counts(plan)
    more = f", up to {later:,} more as the ladder asks," if later else ""
    start = f"{first:,} walks{more} {in_class(plan.weather)}"
    if not plan.claims:
        return f"{start} to calibrate the model; nothing is claimed."
    together = ", all of them together" if plan.together else ""
    need = f"Pd {requirement_text(plan.requirement.pd)} at {confidence_text(plan.requirement.confidence)}{together}"
    chances = sorted(claim.chance.predicted for claim in plan.claims)
    chance = share(chances[0]) if share(chances[0]) == share(chances[-1]) else f"{share(chances[0])} to {share(chances[-1])}"
    return f"{start} for {plural(len(plan.claims), 'claim')} of {need}; chance of passing as predicted: {chance}."


def client_claims(plan: WalkPlan) -> list[tuple[str, str, str, str, str]]:
    """Number, what it is about, walks, misses allowed and chance of passing of every claim, without a place or a prediction."""
    rows = []
    for number, claim in enumerate(plan.claims, start=1):
        rungs = rungs_of(claim)
        rows.append(
            (
                f"{number}", claim_about(plan, claim.claim), " / ".join(f"{rung.walks:,}" for rung in rungs),
                " / ".join(f"{rung.misses}" for rung in rungs), share(claim.chance.predicted),
            )
        )  # fmt: skip
    return rows


def claim_about(plan: WalkPlan, name: str) -> str:
    """`one place`, `six places together`: of a claim."""
    claim = next(each for each in plan.claims if each.claim == name)
    places = len({plan.kind_of(kind).place for kind in claim.kinds})
    return "one place" if places == 1 else f"{plural(places, 'place')} together"


def dots_sentence(plan: WalkPlan) -> str:
    """What the dots in a table of claims are."""
    need = requirement_text(plan.requirement.pd)
    return f"Dots: the share of walks that raised an alarm, with its interval, from 0 to 1; dashed line: required, {need}."


def easiest_sentence(plan: WalkPlan) -> str:
    """That the weather of the test was chosen as the one in which the site does best; '' for a class that somebody asked for."""
    chosen = plan.weather_why.startswith("the class")
    return " Of the weather of this site this kind is the easiest: the site does best in it." if chosen else ""
