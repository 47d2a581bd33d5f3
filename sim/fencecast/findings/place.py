"""What `fencecast place` says: what to change, the front, the number of the search beside the number of fresh crossings."""

from __future__ import annotations

from dataclasses import asdict, replace

import numpy as np

from fencecast.decide.place.proposal import Proposal, Step
from fencecast.estimate.diagnosis import counted_classes
from fencecast.estimate.results import Results
from fencecast.findings.blocks import (
    FINDING,
    LEFT,
    NOTE,
    RIGHT,
    TITLE,
    Block,
    Heading,
    Line,
    Table,
    metres_cell,
    written_lines,
)
from fencecast.findings.designtitles import cost_text, cost_words
from fencecast.findings.frontwords import bill_blocks, knee_of, knee_text, mast_sentence, row_file
from fencecast.findings.limits import PD_WORDS, limit_lines, limits_object, limits_of
from fencecast.findings.nuisancewords import interval_words, rate_words
from fencecast.findings.runfacts import weakest
from fencecast.findings.words import first_upper, interval_text, pd_text, requirement_text, whole
from fencecast.site import Site


def with_own_run(proposal: Proposal) -> Proposal:
    """The proposal with its own run as the last step: its weakest metre and its metres are one number wherever they stand."""
    results = Results.of(proposal.results)
    found = weakest(results)
    if found is None:
        return proposal
    words, lengths = results["verdict"].values[counted_classes(results)], results.lengths_m
    weak, data = (words == "weak").any(axis=0), (words != "no data").any(axis=0)
    meets = data & ((words == "meets") | (words == "no data")).all(axis=0)
    last = replace(
        proposal.steps[-1],
        fresh=found["pd"],
        low=found["pd_low"],
        high=found["pd_high"],
        place=found["place"],
        weather=found["weather"],
        meets_m=float(np.sum(lengths[meets])),
        weak_m=float(np.sum(lengths[weak])),
        undecided_m=float(np.sum(lengths[data & ~meets & ~weak])),
    )
    return replace(proposal, steps=(*proposal.steps[:-1], last))


def file_comments(site: Site, proposal: Proposal, row: int = -1) -> str:
    """What stands above the site file of a row of the front."""
    lines = [f"Proposed by fencecast for the site file {site.sha256[:8]}: {proposal.goal}.", *proposal.rows[row].changes]
    lines.append(str(proposal.results.attrs["caution"]))
    return "".join(f"# {line}\n" for line in lines)


def place_blocks(site: Site, proposal: Proposal, files: list[str]) -> list[Block]:
    """The report, top to bottom."""
    return [*_head(site, proposal), *_front(proposal), *bill_blocks(proposal), *_trust(proposal), *written_lines(files)]


def _head(site: Site, proposal: Proposal) -> list[Block]:
    unit, last = proposal.kit.unit, proposal.steps[-1]
    cost = f", cost {cost_text(last.cost, unit)} ({cost_words(unit)})" if proposal.changes else ""
    verdict = (
        f"With the proposal every metre simulated meets the requirement in this model{cost}."
        if proposal.meets
        else f"With the proposal not every metre meets the requirement{cost}."
    )
    blocks: list[Block] = [Line(str(site.title), TITLE), Line(verdict, FINDING)]
    if not proposal.changes:
        blocks.append(Line("Nothing that was tried is worth changing."))
    blocks += [Line(f"{number}. {first_upper(words)}.") for number, words in enumerate(proposal.changes, start=1)]
    found = weakest(Results.of(proposal.results))
    if found:
        fresh = interval_text(found["pd"], found["pd_low"], found["pd_high"])
        blocks.append(
            Line(
                f"Weakest metre, required {requirement_text(site.requirement.pd)}: {pd_text(last.weakest)} on the crossings of "
                f"the search; on fresh ones, run as its own site, {fresh} at {found['place']} in {found['weather']}."
            )
        )
    said = ceiling_sentence(proposal)
    blocks += [Line(said)] if said else []
    return [*blocks, Line(f"The numbers are {PD_WORDS}.", NOTE)]


def ceiling_sentence(proposal: Proposal) -> str:
    """What the set raises at most by the sum over its cameras, and run in full; '' without a ceiling."""
    if proposal.ceiling is None or proposal.alarms is None:
        return ""
    results = Results.of(proposal.results)
    year = [float(results.array(f"nuisance_year{end}")) for end in ("", "_low", "_high")]
    return (
        f"Nuisance alarms, at most {rate_words(proposal.ceiling)} a night allowed: at most {rate_words(proposal.alarms)} by the "
        f"sum over the cameras, each alone; run in full {interval_words(*year, 'a night')}."
    )


def _front(proposal: Proposal) -> list[Block]:
    columns = [("cost", RIGHT), ("cameras", RIGHT), ("new", RIGHT), ("changed", RIGHT), ("search", RIGHT), ("fresh", RIGHT)]
    columns += [
        ("where", LEFT),
        ("meets", RIGHT),
        ("undecided", RIGHT),
        ("weak", RIGHT),
    ]
    knee = knee_text(proposal.steps, proposal.kit.unit)
    free = proposal.rows[0].changes
    return [
        Heading("The cost-performance front: cost against the weakest metre; metres by their worst weather class"),
        Table.of(columns, [_front_row(step, proposal.kit.unit) for step in proposal.steps]),
        *([Line(knee)] if knee else []),
        *([Line("Every row has the changes of rules, the first one too: they cost nothing.", NOTE)] if free else []),
        Line(
            "Search: the weakest metre on the crossings of the search. Fresh: on crossings that it never saw. Last row: the "
            "proposal run as its own site, as above. In the rows before it (128 crossings of every segment in every weather "
            "class) the lowest of many is a little too low; a run of the site as it is may differ within the interval.",
            NOTE,
        ),
    ]


def _front_row(s: Step, unit: str) -> list:
    row = [cost_text(s.cost, unit), str(s.cameras), str(s.new), str(s.changed), pd_text(s.weakest)]
    metres = (("meets", s.meets_m), ("undecided", s.undecided_m), ("weak", s.weak_m))
    cells = [metres_cell(value, "si", verdict) for verdict, value in metres]
    return [*row, interval_text(s.fresh, s.low, s.high), f"{s.place}, {s.weather}", *cells]


def _trust(proposal: Proposal) -> list[Block]:
    attrs = proposal.results.attrs
    lines = [_bound_sentence(proposal), *_thrift_sentences(proposal)]
    if proposal.out_of_reach:
        names = ", ".join(f"{whole(metres)} m in {name}" for name, metres in proposal.out_of_reach)
        lines.append(f"Out of reach of these candidates, or worth less than it costs; nothing is paid for it: {names}.")
    if proposal.left_out:
        names = ", ".join(proposal.left_out)
        lines.append(f"Depressions are not chosen for {names}: there the best lens meets the requirement hardly anywhere.")
    lines += [f"{first_upper(text)}." for text in proposal.kit.assumed]
    lines.append(
        f"Searched: {proposal.candidates} cameras, {proposal.crossings} crossings of every segment in every weather class, "
        f"tables of {proposal.bytes / 1e6:,.0f} MB, target {proposal.target:.3f}. Steps are greedy, then exchanges; a cheaper "
        "set may exist."
    )
    return [
        Heading("How far to trust it"),
        *(Line(line) for line in lines),
        *limit_lines(limits_of(attrs), str(attrs["caution"])),
    ]


def _thrift_sentences(proposal: Proposal) -> list[str]:
    thrift, unit = proposal.thrift, proposal.kit.unit
    if thrift is None:
        return []
    lines = ["Every camera changed was taken away once, on crossings of its own: without it some metre falls short or loses Pd."]
    if not proposal.changes:
        lines = []
    if thrift.dropped:
        lines.append(f"{thrift.dropped} of the changes that the search wanted were left out again: nothing misses them.")
    if thrift.scratch is not None:
        cameras, cost = thrift.scratch
        lines.append(
            f"From scratch, without the present cameras, {cameras} new cameras do as well, cost {cost_text(cost, unit)}"
            + (
                "; the proposal costs no more than that."
                if proposal.steps[-1].cost <= cost + 1e-9
                else ", less than this proposal."
            )
        )
    return lines


def _bound_sentence(proposal: Proposal) -> str:
    unit, count = proposal.kit.unit, proposal.candidates
    if proposal.bound is not None:
        return (
            f"No set of these {count} candidates brings every metre in reach to the search's target for less than "
            f"{cost_text(proposal.bound, unit)} on its crossings (a linear program's bound); this one costs "
            f"{cost_text(proposal.steps[-1].cost, unit)}. Between requirement and target a cheaper one may do."
        )
    if proposal.most is not None:
        return (
            f"The set is worth {proposal.worth:.3f} of a fence that is at its goal everywhere; no set of these {count} "
            f"candidates within the limits is worth more than {proposal.most:.3f} on the crossings of the search (a linear "
            "program's bound)."
        )
    return f"No set of these {count} candidates was found that brings every metre in reach to its target."


def place_object(proposal: Proposal, files: list[str]) -> dict:
    """The object of `fencecast place --json`."""
    attrs = proposal.results.attrs
    return {
        "title": attrs["title"],
        "version": attrs["version"],
        "seed": attrs["seed"],
        "goal": proposal.goal,
        "unit": proposal.kit.unit,
        "cost": proposal.steps[-1].cost,
        "changes": list(proposal.changes),
        "met": proposal.meets,
        "target": proposal.target,
        "weakest_in_search": proposal.steps[-1].weakest,
        "weakest": weakest(Results.of(proposal.results)),
        "least_cost_bound": proposal.bound,
        "worth": proposal.worth,
        "most_worth_bound": proposal.most,
        "out_of_reach_m": dict(proposal.out_of_reach),
        "classes_without_reach": list(proposal.left_out),
        "assumed": list(proposal.kit.assumed),
        "candidates": proposal.candidates,
        "crossings_per_cell": proposal.crossings,
        "table_bytes": proposal.bytes,
        "ceiling": proposal.ceiling,
        "alarms_at_most": proposal.alarms,
        "front": [
            {
                **asdict(step),
                "site_file": row_file(k, len(proposal.steps)),
                "cost_per_metre": step.cost / step.meets_m if step.meets_m > 0.0 else None,
                "changes": list(row.changes),
                "bill": [asdict(item) for item in row.bill],
            }
            for k, (step, row) in enumerate(zip(proposal.steps, proposal.rows, strict=True))
        ],
        "masts_charged": mast_sentence(proposal.rows[-1].bill) or None,
        "knee": knee_of(proposal.steps),
        "from_scratch": None
        if proposal.thrift is None or proposal.thrift.scratch is None
        else dict(zip(("cameras", "cost"), proposal.thrift.scratch)),
        "dropped_again": 0 if proposal.thrift is None else proposal.thrift.dropped,
        "files": files,
        **limits_object(attrs),
    }
