"""`fencecast walk chance`: plans of a walk test with their chance of passing; no site is needed."""

from __future__ import annotations

import click

from fencecast.cli.output import say_blocks, say_json


@click.command(short_help="Which numbers of walks show a requirement, and how likely each passes.")
@click.option("--pd", type=float, default=0.90, show_default=True, metavar="PD", help="The Pd that is required.")
@click.option("--confidence", type=float, default=0.95, show_default=True, metavar="P", help="At this confidence.")
@click.option("--misses", type=int, default=2, show_default=True, metavar="K", help="Most misses that a plan allows, 0 to 20.")
@click.option("--true", "true", type=float, multiple=True, metavar="PD", help="A true Pd to ask about; may be repeated.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output instead of tables.")
def chance(pd, confidence, misses, true, as_json) -> None:
    """Walks that show a Pd at a confidence, exactly: fixed numbers, and a ladder that walks on after a miss.

    Needs no site and simulates nothing.
    """
    import fencecast as fc
    from fencecast.findings.walkchance import chance_blocks, chance_object

    found = fc.walk_chance(pd, confidence, misses, true)
    if as_json:
        say_json(chance_object(found))
    else:
        say_blocks(chance_blocks(found))
