"""The public functions: names and defaults of the commands, sites given in every way, and a light import."""

import ast
import inspect
from pathlib import Path

import pytest
from two_designs import base, site_of_table

import fencecast as fc
from fencecast.decide.compare.variants import designs_asked
from fencecast.site import site_to_toml

COMMANDS = (
    "run",
    "check",
    "compare",
    "tradeoff",
    "place",
    "bill",
    "study",
    "weather",
    "ranges",
    "explain",
    "view",
    "verify",
    "from_map",
    "to_map",
    "aim",
    "built",
    "cite",
    "report",
    "walk plan",
    "walk chance",
    "walk rehearse",
    "walk score",
    "walk fit",
    "walk next",
    "walk again",
)
# What belongs to the command line alone, or is a function of its own.
OF_THE_CONSOLE = {"output", "force", "no_pictures", "as_json", "require", "card", "everything", "strict", "fit", "pdf", "browser",
                  "no_site_file"}  # fmt: skip
OTHER_FUNCTIONS = {"without", "lose_each", "remedy"}
# `built --run` is `fc.compare` of two sites.
OF_A_COMPARISON = {"both", "walked", "precision", "weather", "threads"}
# In the functions a length says its unit, and a command's positional arguments may have another name.
OTHER_NAMES = {
    "distance": "distance_m",
    "distances": "distances_m",
    "dwell": "dwell_s",
    "offset": "offset_m",
    "latest": "latest_s",
    "sites": "designs",
}


@pytest.mark.parametrize("name", COMMANDS)
def test_a_function_has_what_its_command_has(name):
    """Catches: an option without its argument, a default that differs between the command and the function."""
    from fencecast.cli import main

    arguments = inspect.signature(getattr(fc, name.replace(" ", "_"))).parameters
    group, _, last = name.partition(" ")
    command = main.commands[group].get_command(None, last) if last else main.commands[name.replace("_", "-")]
    for option in command.params:
        if name == "built" and option.name in OF_A_COMPARISON:
            continue
        if (name, option.name) == ("walk plan", "issue"):  # it stands on the cards: `plot_cards`
            continue
        if option.name in OF_THE_CONSOLE | OTHER_FUNCTIONS and (name, option.name) != ("study", "output"):
            continue
        argument = arguments[OTHER_NAMES.get(option.name, option.name)]
        if option.required or argument.kind is argument.VAR_POSITIONAL:
            assert argument.default is argument.empty
            continue
        # What is not set is None, or in newer versions a mark of the library's own.
        default = option.default if isinstance(option.default, (str, int, float)) else None
        default = bool(default) if getattr(option, "is_flag", False) else default
        default = () if getattr(option, "multiple", False) else default
        if option.name == "max_crossings":  # the command leaves it to the function
            assert default is None
            continue
        assert argument.default == default, (name, option.name)


def test_what_one_run_adds_has_the_runs_defaults():
    run = inspect.signature(fc.run).parameters
    for function in (fc.remedy, fc.lose_each, fc.compare, fc.place):
        for name, argument in inspect.signature(function).parameters.items():
            if name in run and name not in ("site", "precision"):
                assert argument.default == run[name].default, (function, name)


def test_every_public_name_is_there():
    """Catches: a name in the stub that no module has, a name that only the stub has."""
    stub = ast.parse(Path(fc.__file__).with_suffix(".pyi").read_text())
    names = [alias.asname for node in stub.body if isinstance(node, ast.ImportFrom) for alias in node.names]
    assert len(set(names)) == len(names) and set(fc.__all__) == {*names, "__version__"}
    assert all(getattr(fc, name) is not None for name in fc.__all__)


def test_every_public_function_says_what_it_takes_and_gives():
    """mypy reads half of a signature as a whole one. Catches: an argument without a type. Pictures are not held to it yet."""
    for name in fc.__all__:
        function = getattr(fc, name)
        if inspect.isfunction(function) and not name.startswith("plot_"):
            signature = inspect.signature(function)
            parts = [signature.return_annotation, *(each.annotation for each in signature.parameters.values())]
            assert inspect.Signature.empty not in parts, name


@pytest.fixture
def files(tmp_path):
    texts = {"one": site_to_toml(site_of_table(base())), "other": site_to_toml(site_of_table(base()).replace(title="Other"))}
    for name, text in texts.items():
        (tmp_path / f"{name}.toml").write_text(text)
    return tmp_path


def test_a_path_stands_for_a_site(files):
    """Catches: fc.run("yard.toml") that ends in an AttributeError."""
    path = files / "one.toml"
    run = fc.run(str(path), precision=0.5, max_crossings=16)
    assert run["pd"].equals(fc.run(fc.load_site(path), precision=0.5, max_crossings=16)["pd"])
    assert fc.ranges(path) == fc.ranges(fc.load_site(path))
    with pytest.raises(fc.UsageError, match=r'int is no site: give the path of a site file, such as fc.run\("yard.toml"\)'):
        fc.run(3)


def test_designs_are_given_in_every_way(files):
    """Catches: a list of sites that ends in an AttributeError, names that do not tell designs from each other."""
    paths = [str(files / "one.toml"), files / "other.toml"]
    sites = [fc.load_site(path) for path in paths]
    assert [v.name for v in designs_asked(paths)] == ["one", "other"] == [v.name for v in designs_asked([paths])]
    assert [v.name for v in designs_asked([sites])] == [site.title for site in sites]
    assert [v.name for v in designs_asked([sites[0], sites[0]])] == ["base", "design 2"]
    assert [v.name for v in designs_asked([fc.Variant("mine", sites[0]), paths[1]])] == ["mine", "other"]
    assert [v.name for v in designs_asked([sites[0]], lenses=["wide", "long"])] == ["wide", "long"]
    results = fc.compare(sites, precision=0.5, max_crossings=16)
    assert results["variant"].values.tolist() == [site.title for site in sites]
    for wrong in ([], [3, 4], [paths[0]], [*paths, "more.toml"]):
        with pytest.raises(fc.FencecastError):
            fc.compare(*wrong, precision=0.5, max_crossings=16)


def test_every_picture_has_a_twin_that_returns_its_data():
    """Catches: a picture whose numbers can only be read off."""
    pictures = [name.removeprefix("plot_") for name in fc.__all__ if name.startswith("plot_")]
    assert len(pictures) >= 15 and {f"{name}_data" for name in pictures} <= set(fc.__all__)
