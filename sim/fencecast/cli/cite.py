"""`fencecast cite`: how to cite the program and what a results file says of its methods; `fencecast --version`."""

from __future__ import annotations

import click

from fencecast.cli.output import say_json, say_text
from fencecast.errors import UsageError
from fencecast.findings.citeformats import FORMATS


@click.command(short_help="How to cite the program, and the methods of a results file as a paragraph.")
@click.argument("results", required=False, metavar="[RESULTS.nc]")
@click.option("--format", type=click.Choice(FORMATS), default="text", show_default=True, help="cff: Citation File Format.")
@click.option("--json", "as_json", is_flag=True, help="The same as --format json.")
@click.pass_context
def cite(ctx, results, format, as_json) -> None:
    """How to cite fencecast. With a results file of `run`, `compare` or `study`: the version that made it, and a paragraph on its
    methods to paste into a report, made of nothing but what the file holds.
    """
    from fencecast.findings.cite import cite as cited
    from fencecast.findings.cite import cite_object

    typed = ctx.get_parameter_source("format") is not click.core.ParameterSource.DEFAULT
    if as_json and typed and format != "json":
        raise UsageError(f"--json and --format {format} do not go together; type one of them")
    if as_json or format == "json":
        say_json(cite_object(results))
    else:
        say_text(cited(results, format))


def tell_version(ctx: click.Context, parameter: click.Parameter, asked: bool) -> None:
    """`fencecast 0.1.0`, or with --json all that results depend on beside the site file."""
    if not asked or ctx.resilient_parsing:
        return
    if ctx.params.get("as_json"):
        from fencecast.provenance import version_object

        say_json(version_object())
    else:
        from fencecast import __version__

        say_text(f"fencecast {__version__}")
    ctx.exit()
