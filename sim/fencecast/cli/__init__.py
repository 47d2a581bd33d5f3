"""The command line: the only room that prints or exits.

run.py, check.py, compare.py, tradeoff.py, place.py, study.py, weather.py, looks.py, report.py, frommap.py, tomap.py, files.py,
verify.py, cite.py, bill.py, aim.py, walk.py (walk_*.py), built.py
                             the commands, one function each; they import the rest of the package when they run, so that
                             `fencecast --help` answers at once
ending.py                    every way to end: exit codes, one-line errors, interrupts
output.py, progress.py       standard output and standard error
folder.py, onefile.py        files that appear whole or not at all
layout.py                    how blocks of `findings` look in a terminal; what they say is made there
"""

from __future__ import annotations

import shlex

import click

from fencecast.cautions import CAUTION
from fencecast.cli.aim import aim
from fencecast.cli.bill import bill
from fencecast.cli.built import built
from fencecast.cli.check import check
from fencecast.cli.cite import cite, tell_version
from fencecast.cli.compare import compare
from fencecast.cli.ending import end_well, tell_signs_without_font
from fencecast.cli.files import example, plot
from fencecast.cli.frommap import from_map
from fencecast.cli.looks import explain, ranges, view
from fencecast.cli.place import place
from fencecast.cli.report import report
from fencecast.cli.run import run
from fencecast.cli.study import study
from fencecast.cli.tomap import to_map
from fencecast.cli.tradeoff import tradeoff
from fencecast.cli.verify import verify
from fencecast.cli.walk import walk
from fencecast.cli.weather import weather
from fencecast.errors import UsageError

EXIT_CODES = """\b
Exit codes: 0 done; 1 a failure of the program; 2 the input is wrong;
3 with --require, when not every segment meets the requirement in every weather class,
or nuisance alarms their ceilings;
130 interrupted, nothing half-written. FENCECAST_DEBUG=1 shows the traceback of a failure."""


class Commands(click.Group):
    """The commands in the order in which a user meets them, each ending by the rules of `ending`."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(self.commands)

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        ctx.obj = shlex.join(["fencecast", *args])  # the command line as typed, for the results file
        return super().parse_args(ctx, args)

    def invoke(self, ctx: click.Context):
        try:
            return end_well(lambda: super(Commands, self).invoke(ctx))
        finally:
            tell_signs_without_font()


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]}, epilog=f"{CAUTION}\n\n{EXIT_CODES}")
@click.option("--version", is_flag=True, expose_value=False, callback=tell_version, help="Show the version and exit.")
@click.option(
    "--json", "as_json", is_flag=True, is_eager=True, help="With --version: also code, libraries and processor, as JSON."
)
def main(as_json: bool) -> None:
    """Where, when and why a thermal perimeter is weak: crossings of a fence, simulated camera by camera.

    \b
    Start with:  fencecast example one-camera
                 fencecast run one-camera.toml
    """
    if as_json:
        raise UsageError(
            "--json before a command goes with --version only; type it behind the command: fencecast run SITE.toml --json"
        )


# In the order in which a user meets them.
COMMANDS = (
    *(run, check, compare, tradeoff, place, bill, study, weather, ranges, explain, view, aim, walk, built, plot),
    *(report,),
    *(from_map, to_map, example, verify, cite),
)
for command in COMMANDS:
    command.epilog = CAUTION
    main.add_command(command)
