"""`fencecast verify`: every part of the model held against something that we did not write, and the model card."""

from __future__ import annotations

import time

import click

from fencecast.cli.ending import FAILED
from fencecast.cli.output import say, say_json
from fencecast.errors import UsageError


@click.command(short_help="Hold every part of the model against outside sources.")
@click.option("--card", is_flag=True, help="Show the model card instead: what is modelled, from where, how far it is valid.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output instead of a table.")
def verify(card, as_json) -> None:
    """Run the package's own formulas and kernels against outside sources, and say how far they differ.

    Standards, handbooks, papers, other libraries, enumeration, and a slow independent Monte Carlo. Needs the extra `verify`;
    takes one or two minutes. Ends with 1 when a check fails.
    """
    if card:
        if as_json:
            raise UsageError("--card and --json do not go together: the card is a text")
        from rich.markdown import Markdown

        say(Markdown(model_card()))
        return
    from fencecast.cli.progress import Progress
    from fencecast.evidence.catalogue import run_all

    start = time.perf_counter()
    with Progress() as progress:
        checks = list(run_all(progress.stage))
    seconds = time.perf_counter() - start
    if as_json:
        say_json(report_object(checks, seconds))
    else:
        say(*report(checks, seconds))
    if not all(check.passed for _, check in checks):
        raise click.exceptions.Exit(FAILED)


def model_card() -> str:
    """The model card's text."""
    from importlib.resources import files

    return files("fencecast").joinpath("MODEL_CARD.md").read_text(encoding="utf-8").rstrip("\n")


def report_object(checks, seconds: float) -> dict:
    """The object of --json; checks: (subject, Check) each."""
    from dataclasses import asdict

    from fencecast import __version__

    return {
        "version": __version__,
        "passed": all(check.passed for _, check in checks),
        "failed": [check.name for _, check in checks if not check.passed],
        "seconds": round(seconds, 1),
        "checks": [{"subject": subject, **asdict(check), "passed": check.passed} for subject, check in checks],
    }


def report(checks, seconds: float) -> list:
    """The table and what it says, for `output.say`."""
    from fencecast.cautions import CAUTION
    from fencecast.cli.layout import LEFT, RIGHT, WHOLE, paragraph, styled, table

    columns = [("quantity", LEFT), ("worst difference", RIGHT), ("allowed, and why", LEFT), ("held against", LEFT), ("", WHOLE)]
    rows, before = [], None
    for subject, check in checks:
        if subject != before:
            rows.append([styled(subject, "bold"), "", "", "", ""])
            before = subject
        verdict = styled("pass", "cyan") if check.passed else styled("FAIL", "bold red")
        rows.append([_quantity(check), _worst(check), f"{_figure(check.tolerance)}: {check.cause}", check.source, verdict])
    failed = [check.name for _, check in checks if not check.passed]
    comparisons = sum(check.cases for _, check in checks)
    end = f"{len(checks) - len(failed)} of {len(checks)} checks pass, {comparisons:,} comparisons in {seconds:.0f} s."
    if failed:
        end += f" These fail: {', '.join(failed)}."
    return [
        table(columns, rows),
        styled("\n" + end, "bold red" if failed else "bold"),
        paragraph(
            "Formulas and code are held against what others wrote. How your analytics, your fog and your people behave is not: "
            "see `fencecast verify --card`.",
            "dim",
        ),
        styled(CAUTION, "bold"),
    ]


def _quantity(check):
    from rich.text import Text

    return Text.assemble(check.quantity, ("\n" + check.note if check.note else "", "dim"))


def _worst(check) -> str:
    return f"{_figure(check.worst)}\n{check.unit}"


def _figure(value: float) -> str:
    return "0" if value == 0.0 else f"{value:.2g}"
