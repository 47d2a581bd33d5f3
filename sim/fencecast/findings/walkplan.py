"""What `fencecast walk plan` says in the terminal and as JSON: walks, places, claims with their chances, what they leave open."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from fencecast.findings.blocks import CAUTION_ROLE, FINDING, LEFT, NOTE, RIGHT, TITLE, UNBROKEN, Block, Heading, Line, Table
from fencecast.findings.blocks import written_lines as lines_of_files
from fencecast.findings.walkchance import chance_text, stops_words
from fencecast.findings.walkrules import PEOPLE
from fencecast.findings.walkwords import GAIT_NAMES, WEAK_PLACES, counts, finding, statements
from fencecast.findings.words import confidence_text, in_class, interval_text, listed, pd_text, requirement_text
from fencecast.prove.walks.chance import lower_limit
from fencecast.prove.walks.everywhere import everywhere
from fencecast.prove.walks.order import SET_UP_S, SPARE, TRADE_MINUTES
from fencecast.prove.walks.planfile import Claim, Kind, WalkPlan

GOOD_CHANCE = 0.8
ROLES = {"full": "claim of its own", "pool": "pool", "calibrate": "calibration"}


def walk_plan_title(plan: WalkPlan) -> str:
    """What the picture of the plan is headed with: '36 walks at 6 places, 92 minutes'."""
    first, _, _ = counts(plan)
    places = len({plan.kind_of(trial.kind).place for trial in plan.trials if not trial.control})
    return f"{plain_count(first, 'walk')} at {plain_count(places, 'place')}, {plan.minutes:.0f} minutes"


def plain_count(number: int, noun: str) -> str:
    """'1 walk', '36 walks'."""
    return f"{number} {noun}{'' if number == 1 else 's'}"


def plan_object(plan: WalkPlan, files: Sequence[str]) -> dict[str, Any]:
    """The JSON object of `walk plan --json`: what stands in plan.json but for the site's text, and the files."""
    data = plan.model_dump(mode="json", exclude={"site_toml"})
    return {"schema": data.pop("schema_version"), **data, "everywhere": _everywhere(plan), "files": list(files)}


def _everywhere(plan: WalkPlan) -> dict[str, Any]:
    full = everywhere(plan)
    return {"walks": full.walks, "hours": full.hours, "planned_walks": full.planned, "planned_hours": full.planned_hours}


def plan_blocks(plan: WalkPlan, files: Sequence[str], left: Sequence[str] = ()) -> list[Block]:
    """The report for a terminal."""
    blocks: list[Block] = [
        Line(plan.title, TITLE),
        Line(f"{walk_plan_title(plan)}, {in_class(plan.weather)}", FINDING),
        Line(f"{finding(plan)}.", apart=True),
        *(Line(text) for text in _how(plan)),
        Heading("Places"),
        _places(plan),
        Line("Pd of a walk as walked, with its range over the prior of N50 and correlation; each camera by itself.", NOTE),
    ]
    if plan.claims:
        blocks += [Heading("Claims"), *_claims(plan)]
    blocks += [Line(text) for text in without_claim(plan)]
    blocks += [Heading("What the walks are worth"), *(Line(text) for text in worth(plan)), Line(everywhere_words(plan))]
    blocks += [Heading("What they do not show"), *(Line(text) for text in statements(plan)), Line(WEAK_PLACES, NOTE)]
    written = lines_of_files(files, left) if files else []
    if files:
        written = [*written, Line("Next: print cards.pdf; walk; then fencecast walk score PLAN.json LOG.csv")]
    return [*blocks, *written, Line(plan.caution, CAUTION_ROLE, apart=True)]


def _how(plan: WalkPlan) -> list[str]:
    """Weather, start and time."""
    said = [f"Weather: {plan.weather} ({plan.weather_why})."] if plan.weather_why else []
    if plan.from_fence and not plan.fence_asked:
        said.append(
            "Walks start at the inside foot of the fence: where it has a barrier nobody climbs it thirty times, and a test "
            "of gates and open stretches alone would leave out the fence."
        )
    elif plan.from_fence:
        said.append("Walks start at the inside foot of the fence.")
    else:
        said.append(f"Walks start {plan.path_m:g} m outside; where nobody can stand there (water), type --from-fence.")
    first, later, controls = counts(plan)
    time = (
        f"{PEOPLE} Walkers A and B swap once. {plan.minutes:.0f} minutes, of which "
        f"{SPARE * SET_UP_S / 60.0:.0f} to set up; at {TRADE_MINUTES:g} minutes a walk {TRADE_MINUTES * first:.0f}."
    )
    if controls:
        time += (
            f" {first + controls} walks: {first} that count and {plain_count(controls, 'control')} against the rule's direction."
        )
    if later:
        time += f" Up to {plain_count(later, 'walk')} more only follow a miss: with all of them {plan.most_minutes:.0f} minutes"
        budget = plan.budget_minutes
        time += f", {plan.most_minutes - budget:.0f} more than asked for." if budget and plan.most_minutes > budget else "."
    return [*said, time]


def _places(plan: WalkPlan) -> Table:
    """A row for each kind that is walked in earnest."""
    shown = [mark for mark in plan.marks if any(mark in kind.pd_camera for kind in plan.kinds)]
    cameras = shown if len(shown) <= 4 else []
    columns = [("place", UNBROKEN), ("for", LEFT), ("gait", LEFT), ("walks", RIGHT), ("Pd", UNBROKEN)]
    columns += [(mark, RIGHT) for mark in cameras] or [("best cameras", LEFT)]
    rows = []
    for place in plan.places:
        for kind in (each for each in plan.kinds if each.place == place.place):
            walks = [trial for trial in plan.trials if trial.kind == kind.kind and trial.rung == 1 and not trial.control]
            if not walks:
                continue
            alone = [pd_text(kind.pd_camera[mark]) if mark in kind.pd_camera else "–" for mark in cameras] or [_best(kind)]
            pd = interval_text(kind.pd, kind.pd_low, kind.pd_high)
            rows.append([place.place, ROLES[place.role], GAIT_NAMES[kind.gait], f"{len(walks)}", pd, *alone])
    return Table.of(columns, rows)


def _best(kind: Kind) -> str:
    best = sorted(kind.pd_camera.items(), key=lambda each: -each[1])[:3]
    return ", ".join(f"{mark} {pd_text(pd)}" for mark, pd in best) or "none"


def _claims(plan: WalkPlan) -> list[Block]:
    """Their chances, then what would raise the low ones."""
    required = requirement_text(plan.requirement.pd)
    columns = [("claim", UNBROKEN), ("plan", LEFT), ("Pd", RIGHT), ("passes as predicted", RIGHT), ("at the low end", RIGHT)]
    columns += [(f"at {required}", RIGHT), ("over the prior", RIGHT), ("walks expected", RIGHT)]
    rows = [
        [
            claim.claim, stops_words(claim.stops), f"{plan.claim_pd(claim):.3f}", chance_text(claim.chance.predicted),
            chance_text(claim.chance.low_end), chance_text(at_requirement(plan, claim)), chance_text(claim.chance.over_prior),
            f"{claim.expected_walks:.1f}",
        ]
        for claim in plan.claims
    ]  # fmt: skip
    blocks: list[Block] = [Table.of(columns, rows)]
    for claim in plan.claims:
        about = (
            "this place" if claim.of == "place" else "the mean Pd over these places as often as each is walked, not each metre"
        )
        blocks.append(Line(f"{claim.claim}: {claim.where}; about {about}; Pd {required} at {confidence_text(claim.confidence)}."))
    blocks.append(Line(_together(plan), NOTE))
    return [*blocks, *(Line(text) for claim in plan.claims for text in raises(plan, claim))]


def at_requirement(plan: WalkPlan, claim: Claim) -> float:
    """The chance that a claim passes when every walk has the required Pd."""
    return next(chance for pd, chance in claim.chance.at if abs(pd - plan.requirement.pd) < 1e-9)


def _together(plan: WalkPlan) -> str:
    if plan.together:
        return f"All claims hold together at {confidence_text(plan.requirement.confidence)}: each is made at a higher one."
    return "Each claim is made by itself, not all at once (--together makes them so)."


def raises(plan: WalkPlan, claim: Claim) -> list[str]:
    """What would raise the chance of a claim that is below 0.8."""
    if claim.chance.predicted >= GOOD_CHANCE:
        return []
    ways = ["more walks of which more may be missed (--minutes, --walks, --misses)"]
    if plan.claim_pd(claim) < plan.requirement.pd:
        ways = ["a remedy first, for its Pd is predicted below the requirement"]
    ways += ["a place or an aim that gives a higher Pd", "a lower claim"]
    return [
        f"{claim.claim} passes in {chance_text(claim.chance.predicted)} of tests if the prediction is right. What would raise "
        f"it: {', '.join(ways[:-1])}, or {ways[-1]}."
    ]


def without_claim(plan: WalkPlan) -> list[str]:
    """Places that got no claim, and why; what walks without a claim can show."""
    said = []
    if plan.hopeless:
        said.append(
            f"No claim for {listed(plan.hopeless)}: weak as predicted, a test there would hardly ever pass. Mend first "
            "(fencecast run --remedy), test then; --full asks for a claim all the same."
        )
    if plan.left_out:
        said.append(f"No time for a claim of {listed(plan.left_out)}: type more --minutes, or --goal accept.")
    first = counts(plan)[0]
    free = [plan.kind_of(trial.kind).pd for trial in plan.trials if trial.claim is None and not trial.control]
    if plan.goal == "both" and free and sum(free) < plan.requirement.pd * len(free):
        said.append(
            f"No claim on the walks that calibrate: their mean Pd is predicted as {sum(free) / len(free):.2f}, below "
            f"{requirement_text(plan.requirement.pd)}." + _time_left(plan)
        )
    elif plan.goal != "calibrate" and not plan.claims and free:
        level = plan.requirement.confidence
        said.append(
            f"No claim: {plain_count(first, 'walk')} without a miss would show Pd {lower_limit(first, 0, level):.2f} at "
            f"{confidence_text(level)}, not {requirement_text(plan.requirement.pd)}."
        )
    return said


def _time_left(plan: WalkPlan) -> str:
    """Of a plan without a claim: the minutes that are left, and what leaving out the weakest place would make of the mean."""
    if plan.claims:
        return ""
    budget, said = plan.budget_minutes, ""
    left = 0.0 if budget is None else budget - max(plan.minutes, plan.most_minutes)
    if left >= 1.0:
        said = f" {left:.0f} of {budget:.0f} minutes are left: more such walks would make no claim either."
    by_place: dict[str, list[float]] = {}
    for trial in plan.trials:
        if trial.claim is None and not trial.control:
            by_place.setdefault(plan.kind_of(trial.kind).place, []).append(plan.kind_of(trial.kind).pd)
    if len(by_place) < 2:
        return said
    weakest = min(by_place, key=lambda name: sum(by_place[name]) / len(by_place[name]))
    rest = [pd for name, each in by_place.items() if name != weakest for pd in each]
    mean = sum(rest) / len(rest)
    if mean < plan.requirement.pd:
        return said
    return f"{said} Without {weakest} it would be {mean:.2f}: --goal accept plans walks for a claim, of places that it names."


def worth(plan: WalkPlan) -> list[str]:
    """What N50 and correlation are expected to be known to, and what the pool shows with 0, 1 and 2 misses."""
    sd, r = plan.expected.sd_ln_n50, plan.expected.sd_r
    before = 0.26 if plan.prior_correlation_sd is None else plan.prior_correlation_sd
    differing = plan.expected.sd_ln_n50_differing
    usual = "" if differing is None else f", about {100.0 * differing:.0f} % as they usually differ"
    said = [
        f"N50: to {100.0 * sd:.0f} % if places and people were alike{usual} (one standard error; prior "
        f"{100.0 * plan.prior_spread:.0f} % about {plan.prior_median:.4g} cycles). "
        f"Correlation of two cameras: to {r:.2f} (prior {before:.2f})."
    ]
    if plan.prior_from == "calibration":
        said.append("The prior is what earlier walks left: [calibration] of the site file.")
    for claim in plan.claims:
        if claim.of != "pool":
            continue
        walks, level = claim.stops[0], claim.confidence
        limits = [f"{lower_limit(walks, misses, level):.3f}" for misses in range(3)]
        said.append(
            f"{claim.claim}: {walks} of {walks} would show Pd {limits[0]}, {walks - 1} {limits[1]}, {walks - 2} {limits[2]} "
            f"(one-sided, {confidence_text(level)})." + _no_miss(plan, claim)
        )
    return said


def everywhere_words(plan: WalkPlan) -> str:
    """A claim at every segment against this plan, in walks and hours."""
    full = everywhere(plan)
    more = f" (up to {full.most:,} after misses)" if full.most > full.planned else ""
    return (
        f"A claim of its own at each of {plain_count(full.segments, 'segment')} in {plain_count(full.gaits, 'gait')}, without a "
        f"miss: {full.segments:,} × {full.gaits} × {full.walks_each} = {full.walks:,} walks, {full.hours:,.0f} hours by the "
        f"trade's {TRADE_MINUTES:g} minutes a walk. This plan: {plain_count(full.planned, 'walk')}{more}, "
        f"{full.planned_hours:.1f} hours by the same."
    )


def _no_miss(plan: WalkPlan, claim: Claim) -> str:
    """The chance of no miss on the first rung, as predicted and with a larger N50."""
    if not claim.no_miss:
        return ""
    (n50, right), (larger, wrong) = claim.no_miss
    return (
        f" The chance of no miss is {chance_text(right)} if the prediction (mean {plan.claim_pd(claim):.3f} at N50 {n50:.2g}) is "
        f"right, {chance_text(wrong)} at N50 {larger:.2g}."
    )
