"""What `fencecast place` prints: what to change, the front, the number of the search beside the number of fresh crossings."""

from __future__ import annotations

from fencecast.cli.layout import LEFT, RIGHT, VERDICT_STYLES, heading, paragraph, styled, table, written
from fencecast.cli.summary import weakest
from fencecast.estimate.results import Results
from fencecast.findings.words import first_upper, interval_text, pd_text, requirement_text, whole
from fencecast.show.study.costfront import cost_text, cost_words


def place_report(site, proposal, files: list[str]) -> list:
    """The parts of the report, top to bottom, for `output.say`."""
    return [*_head(site, proposal), *_front(proposal), *_trust(proposal), written(files)]


def _head(site, proposal) -> list:
    unit, last = proposal.kit.unit, proposal.steps[-1]
    need = requirement_text(site.requirement.pd)
    cost = f", cost {cost_text(last.cost, unit)} ({cost_words(unit)})" if proposal.changes else ""
    verdict = (
        f"Every metre simulated meets the requirement in this model with the proposal{cost}."
        if proposal.meets
        else f"Not every metre meets the requirement with the proposal{cost}."
    )
    parts = [styled(str(site.title), "bold"), styled(verdict, "bold")]
    if not proposal.changes:
        parts.append(paragraph("Nothing that was tried is worth changing."))
    parts += [paragraph(f"{number}. {first_upper(words)}") for number, words in enumerate(proposal.changes, start=1)]
    found = weakest(Results.of(proposal.results))
    if found:
        fresh = interval_text(found["pd"], found["pd_low"], found["pd_high"])
        parts.append(
            paragraph(
                f"Weakest metre, required {need}: {pd_text(last.weakest)} on the crossings of the search; on fresh ones, run as "
                f"its own site, {fresh} at {found['place']} in {found['weather']}."
            )
        )
    return parts


def _front(proposal) -> list:
    unit = proposal.kit.unit
    columns = [("cost", RIGHT), ("cameras", RIGHT), ("new", RIGHT), ("changed", RIGHT), ("search", RIGHT), ("fresh", RIGHT)]
    columns += [("where", LEFT), ("meets", RIGHT), ("undecided", RIGHT), ("weak", RIGHT)]
    rows = []
    for s in proposal.steps:
        row = [cost_text(s.cost, unit), str(s.cameras), str(s.new), str(s.changed), pd_text(s.weakest)]
        row += [interval_text(s.fresh, s.low, s.high), f"{s.place}, {s.weather}"]
        row += [
            styled(whole(metres), VERDICT_STYLES[word] if metres >= 0.5 else "")
            for metres, word in ((s.meets_m, "meets"), (s.undecided_m, "undecided"), (s.weak_m, "weak"))
        ]
        rows.append(row)
    return [
        heading("The front: cost against the weakest metre; metres by their worst weather class"),
        table(columns, rows),
        paragraph(
            "Search: the weakest metre on the crossings of the search. Fresh: on crossings that it never saw. Last row: the "
            "proposal run as its own site, as above. In the rows before it (128 crossings of a cell) the lowest of many is a "
            "little too low; a run of the site as it is may differ within the interval.",
            "dim",
        ),
    ]


def _trust(proposal) -> list:
    unit, lines = proposal.kit.unit, []
    last = proposal.steps[-1]
    if proposal.bound is not None:
        lines.append(
            f"No set of these {proposal.candidates} candidates brings every metre in reach to the search's target for less than "
            f"{cost_text(proposal.bound, unit)} on its crossings (a linear program's bound); this one costs "
            f"{cost_text(last.cost, unit)}. Between requirement and target a cheaper one may do."
        )
    elif proposal.most is not None:
        lines.append(
            f"The set is worth {proposal.worth:.3f} of a fence that is at its goal everywhere; no set of these "
            f"{proposal.candidates} candidates within the limits is worth more than {proposal.most:.3f} on the crossings of the "
            "search (a linear program's bound)."
        )
    else:
        lines.append(
            f"No set of these {proposal.candidates} candidates was found that brings every metre in reach to its target."
        )
    if proposal.out_of_reach:
        names = ", ".join(f"{whole(metres)} m in {name}" for name, metres in proposal.out_of_reach)
        lines.append(f"Out of reach of all new cameras with one present camera changed, and left out of the goal: {names}.")
    if proposal.left_out:
        names = ", ".join(proposal.left_out)
        lines.append(f"Depressions are not chosen for {names}: there the best lens holds the requirement hardly anywhere.")
    lines += [f"{first_upper(text)}." for text in proposal.kit.assumed]
    lines.append(
        f"Searched: {proposal.candidates} cameras, {proposal.crossings} crossings of a cell, tables of "
        f"{proposal.bytes / 1e6:,.0f} MB, target {proposal.target:.3f}. Steps greedy, then exchanges; a cheaper set may exist."
    )
    return [
        heading("How far to trust it"),
        *(paragraph(line) for line in lines),
        styled(str(proposal.results.attrs["caution"]), "bold"),
    ]
