"""What users type: the commands with their options, and the pages of the API. As Markdown; no Sphinx here, as in `pagetables`."""

from __future__ import annotations

import inspect

import click

import fencecast as fc
from fencecast.cli import main

# Public names by the page of the API that they stand on, in its order; the rest goes by `kind_of`.
API = {
    "simulate": ("load_site", "parse_site", "run", "remedy", "lose_each", "without_cameras", "weather", "check", "verify"),
    "decide": (
        "compare",
        "tradeoff",
        "lens_variants",
        "table_variants",
        "file_variants",
        "place",
        "bill",
        "load_study",
        "study",
        "STRATEGIES",
    ),
    "look": ("ranges", "explain", "view"),
    "maps": ("from_map", "to_map"),
    "results": ("Results", "open_results", "save_results", "report", "cite", "write_pictures", "save_picture", "save_pages"),
    "prove": (
        "aim",
        "built",
        "walk_plan",
        "walk_chance",
        "walk_rehearse",
        "walk_score",
        "walk_fit",
        "calibrated_text",
        "walk_next",
        "walk_again",
    ),
    "types": (
        "Site",
        "Variant",
        "Proposal",
        "Remedy",
        "Review",
        "Study",
        "ViewFrame",
        "Aim",
        "AsBuilt",
        "WalkPlan",
        "WalkChance",
        "Rehearsal",
        "WalkScore",
        "WalkFit",
        "NextWalks",
        "WalkAgain",
    ),
    "errors": ("FencecastError", "InputError", "UsageError"),
    "pictures": (),
}


def table(head: str, rows: list[tuple[str, ...]]) -> str:
    """A Markdown table; head: names with | between them."""
    names = [name.strip() for name in head.split("|")]
    lines = [names, ["---"] * len(names), *([cell.replace("|", "\\|") for cell in row] for row in rows)]
    return "".join(f"| {' | '.join(line)} |\n" for line in lines)


def every_command() -> dict[str, click.Command]:
    """Commands by what is typed after `fencecast`: those of a group follow it, as in `walk chance`."""
    found: dict[str, click.Command] = {}
    for name, command in main.commands.items():
        found[name] = command
        if isinstance(command, click.Group):
            context = click.Context(command)
            found |= {f"{name} {each}": command.get_command(context, each) for each in command.list_commands(context)}
    return found


def commands() -> str:
    """Every command with its options, as `--help` has them."""
    parts = []
    for name, command in every_command().items():
        usage = " ".join(command.collect_usage_pieces(click.Context(command, info_name=name)))
        says = inspect.cleandoc(command.help or "").replace("\b\n", "").partition("\n\n")[0].replace("\n", " ")
        rows = []
        for option in command.params:
            if isinstance(option, click.Option):
                rows.append((option_text(option), option.help or ""))
        parts.append(f"## {name}\n\n`fencecast {name} {usage}`\n\n{says}\n\n" + (table("option | meaning", rows) if rows else ""))
    return "\n".join(parts)


def option_text(option: click.Option) -> str:
    """An option with what it takes."""
    context = click.Context(click.Command("x"))
    takes = "" if option.is_flag else " " + option.make_metavar(context)
    return ", ".join(f"`{name}{takes if name.startswith('--') else ''}`" for name in option.opts)


def api_page(name: str) -> list[str]:
    """Public names that stand on a page of the API: what `API` places, then the rest by kind, so that no name is lost."""
    placed = {each for names in API.values() for each in names} | {"__version__"}
    more = [each for each in fc.__all__ if each not in placed and kind_of(each) == name]
    return [*API[name], *sorted(more, key=lambda each: (each.removeprefix("plot_").removesuffix("_data"), each))]


def kind_of(name: str) -> str:
    """The page for a public name that `API` does not place."""
    thing = getattr(fc, name)
    if name.startswith("plot_") or name.endswith("_data"):
        return "pictures"
    if isinstance(thing, type):
        return "errors" if issubclass(thing, Exception) else "types"
    return "results"


def api(name: str) -> str:
    """The names of one page of the API: a table of all, then each."""
    names = api_page(name)
    told = "".join(f"   {each}\n" for each in names if callable(getattr(fc, each)))
    head = "```{eval-rst}\n.. currentmodule:: fencecast\n\n.. autosummary::\n   :nosignatures:\n\n"
    return head + told + "\n" + "".join(entry(each) for each in names) + "```\n"


def entry(name: str) -> str:
    """The directive for a public name."""
    thing = getattr(fc, name)
    if isinstance(thing, type):
        return f".. {'autoexception' if issubclass(thing, Exception) else 'autoclass'}:: fencecast.{name}\n\n"
    if callable(thing):
        return f".. autofunction:: fencecast.{name}\n\n"
    # Data have no docstring: what they hold, each with the first line of its own.
    rows = "".join(f"   - {key}: {(inspect.getdoc(value) or '').splitlines()[0]}\n" for key, value in thing.items())
    return f".. py:data:: fencecast.{name}\n\n{rows}\n"
