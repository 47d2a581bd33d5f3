"""`fencecast verify`: every part of the model compared with something that we did not write, and the model card."""

from __future__ import annotations

import time

import click

from fencecast.cli.ending import FAILED
from fencecast.cli.output import say, say_blocks, say_json
from fencecast.errors import UsageError


@click.command(short_help="Compare every part of the model with outside sources.")
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
    from fencecast.findings.verify import verify_blocks, verify_object

    start = time.perf_counter()
    with Progress() as progress:
        checks = list(run_all(progress.stage))
    seconds = time.perf_counter() - start
    if as_json:
        say_json(verify_object(checks, seconds))
    else:
        say_blocks(verify_blocks(checks, seconds))
    if not all(check.passed for _, check in checks):
        raise click.exceptions.Exit(FAILED)


def model_card() -> str:
    """The model card's text."""
    from importlib.resources import files

    return files("fencecast").joinpath("MODEL_CARD.md").read_text(encoding="utf-8").rstrip("\n")
