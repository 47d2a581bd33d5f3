"""`fencecast check`: mistakes of a design that need no simulation."""

from __future__ import annotations

import click

from fencecast.cli.ending import NOT_MET
from fencecast.cli.output import say, say_blocks, say_json


@click.command(short_help="Review a design without simulation: unwatched metres, wrong aims, what the file forgot.")
@click.argument("site", metavar="SITE.toml")
@click.option("--only", multiple=True, metavar="ID", help="Only this check; may be repeated.")
@click.option("--group", default="", metavar="WORD", help="Only the checks of this group, such as watched or weather.")
@click.option("--all", "everything", is_flag=True, help="Also what is accepted, what was asked and silent, and what to paste.")
@click.option(
    "--no-weather",
    "weather",
    flag_value=False,
    default=True,
    is_flag=True,
    help="Read no weather file and ask no sun: seconds less.",
)
@click.option("--require", is_flag=True, help="Exit 3 when a stop is open.")
@click.option("--strict", is_flag=True, help="With --require: exit 3 when a warning is open, too.")
@click.option("-o", "--output", metavar="PNG", help="Draw the findings on the plan as well.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output instead of text.")
@click.pass_context
def check(ctx, site, only, group, everything, weather, require, strict, output, as_json) -> None:
    """Ask SITE.toml what a reviewer would ask: is every metre watched, is the picture good enough, what if one thing fails.

    Geometry and the file alone: no crossings, no noise, no weather along the line of sight. Nothing found is no result:
    fencecast run simulates.
    """
    import fencecast as fc
    from fencecast.cli.folder import whole_file
    from fencecast.cli.onefile import picture_file
    from fencecast.findings.check import check_blocks, check_object

    path = picture_file(output) if output else None
    found = fc.check(site, only, group, weather)
    if path:
        from fencecast.show.fence.check import plot_check
        from fencecast.show.paper.page import save_picture

        with whole_file(path) as part:
            save_picture(plot_check(found), part)
    if as_json:
        say_json(check_object(found))
    else:
        say_blocks(check_blocks(found, everything))
        if path:
            say(f"\nWritten  {path}")
    if require and (found.count("stop") or (strict and found.count("warn"))):
        ctx.exit(NOT_MET)
