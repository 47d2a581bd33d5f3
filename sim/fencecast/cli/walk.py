"""`fencecast walk`: walk tests on the finished site, one module a subcommand, loaded when it is used."""

from __future__ import annotations

from importlib import import_module

import click

from fencecast.cautions import CAUTION

# In the order in which a user meets them; module of `cli` and name of the command in it.
SUBCOMMANDS = {
    "plan": ("walk_plan", "plan"),
    "chance": ("walk_chance", "chance"),
    "rehearse": ("walk_rehearse", "rehearse"),
    "score": ("walk_score", "score"),
    "fit": ("walk_fit", "fit"),
    "next": ("walk_next", "next_walks"),
    "again": ("walk_again", "again"),
}


class Walks(click.Group):
    """The subcommands, each imported when it is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(SUBCOMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in SUBCOMMANDS:
            return None
        module, name = SUBCOMMANDS[cmd_name]
        command = getattr(import_module(f"fencecast.cli.{module}"), name)
        command.epilog = CAUTION
        return command


@click.group(cls=Walks, short_help="Walk tests: plan them, with their chance of passing.")
def walk() -> None:
    """Walk tests on the finished site: which walks show the requirement, and what they leave open.

    \b
    Start with:  fencecast walk plan SITE.toml
    """
