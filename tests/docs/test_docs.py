"""The pages of the documentation, read as text: what they name exists, what must be there is there. No Sphinx needed.

The build (`.ci/run`) runs their commands and draws their pictures; these tests answer in seconds, before anybody builds.
"""

import ast
import re
import shlex
import sys
from pathlib import Path
from types import SimpleNamespace

import click
import pytest

import fencecast as fc
from fencecast.cautions import CAUTION, NOT_MODELLED
from fencecast.cli import main
from fencecast.estimate.attributes import ATTRIBUTES
from fencecast.estimate.dataset import MEANINGS
from fencecast.site.keypage import TABLES
from fencecast.site.whole import TOP

PACKAGE = Path(fc.__file__).parent
DOCS = PACKAGE / "docs"
ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
sys.path.insert(0, str(DOCS / "_ext"))

import generated  # noqa: E402
import outdated  # noqa: E402
import pagetables  # noqa: E402
import publicpages  # noqa: E402
import references  # noqa: E402
from defaultsources import OTHER_MARKS, SOURCES  # noqa: E402

COMMANDS = publicpages.every_command()
PAGES = {str(path.relative_to(DOCS).with_suffix("")): path for path in sorted(DOCS.rglob("*.md"))}
WRITTEN = {name: path.read_text(encoding="utf-8") for name, path in PAGES.items()}
TEXT = {name: generated.filled(text) for name, text in WRITTEN.items()}
MODEL = {name: text for name, text in WRITTEN.items() if name.startswith("model/")}
# Tables whose keys say what a user has or wants: their defaults claim nothing about the world.
NO_CLAIM = {
    "calibration",
    "armed",
    "map",
    "picture",
    "variant",
    "mounting",
    "kit",
    "check",
    "accept",
    "land",
    "weather_file",
    "camera",
    "item",
}
# What `run --json` is put together from, by module and function of `findings`.
JSON_MADE_BY = (
    "runfacts.run_object",
    "lensdistances.distance_object",
    "installations.installations_object",
    "limits.limits_object",
    "hours.hours_object",
    "losses.loss_object",
    "check.review_object",
    "remedy.remedy_object",
)
# Numerics, not formulas of the model: checked by themselves in tests/physics/test_exponential.py.
NUMERICS = {"physics.exponential.exponential", "physics.exponential.logarithm"}


def blocks(text: str, directive: str) -> list[tuple[str, str]]:
    """Argument and body of every directive of a kind on a page."""
    return re.findall(rf"^```\{{{directive}\}} ?(.*)\n((?:(?!```).*\n)*)```", text, re.MULTILINE)


def toctree(name: str) -> set[str]:
    """Pages that a page's tables of contents name."""
    folder = Path(name).parent
    lines = [line for _, body in blocks(WRITTEN[name], "toctree") for line in body.splitlines()]
    return {str(folder / line) for line in lines if line and not line.startswith(":")}


def commands_of(text: str) -> list[str]:
    """Every command that a page runs, shows in a block or names in a line."""
    run = [command for command, _ in blocks(text, "command")]
    shown = [
        line
        for body in re.findall(r"^```(?:sh|console)\n((?:(?!```).*\n)*)```", text, re.MULTILINE)
        for line in body.splitlines()
    ]
    named = re.findall(r"(?<!`)`(fencecast [^`]+)`(?!`)", text)
    return [line.split("#")[0].removeprefix("$ ").strip() for line in [*run, *shown, *named] if "fencecast " in line]


def test_every_page_is_reached_from_the_first():
    """Catches: a page that no table of contents names, or one named that is not there."""
    seen, left = set(), {"index"}
    while left:
        name = left.pop()
        assert name in PAGES, f"a table of contents names {name}"
        seen.add(name)
        left |= toctree(name) - seen
    assert seen == set(PAGES)


@pytest.mark.parametrize("name", PAGES)
def test_commands_and_options_exist(name):
    """Catches: a page that shows a command or an option of yesterday."""
    for command in commands_of(WRITTEN[name]):
        for words in (shlex.split(part) for part in command.split("&&") if part.strip().startswith("fencecast ")):
            assert words[1].startswith("-") or words[1] in main.commands, command
            if words[1] not in main.commands:
                continue
            named = words[1]
            if isinstance(main.commands[named], click.Group) and not (words[2:3] or ["-"])[0].startswith("-"):
                named = " ".join(words[1:3])
            assert named in COMMANDS, command
            options = {each for parameter in COMMANDS[named].params for each in parameter.opts} | {"--help", "-h"}
            unknown = {word.split("=")[0] for word in words[2:] if word.startswith("-")} - options
            assert not unknown, f"{command}: {sorted(unknown)}"


@pytest.mark.parametrize("name", PAGES)
def test_options_named_alone_exist(name):
    """Catches: `--option` in a sentence that no command has."""
    known = {each for command in COMMANDS.values() for parameter in command.params for each in parameter.opts}
    named = set(re.findall(r"(?<!`)`(--[a-z0-9-]+)(?: [^`]*)?`(?!`)", TEXT[name]))
    assert named <= known | {"--help"}, sorted(named - known)


def test_every_command_is_in_the_table_of_the_readme():
    """Catches: a command that README's table lacks or that is gone, an option there that it does not have."""
    table = README.split("## The commands\n")[1].split("\n## ")[0]
    rows = re.findall(r"^\| `fencecast ((?:walk )?[a-z-]+)[^`]*`.* \| (.+) \|$", table, re.MULTILINE)
    assert {name for name, _ in rows} == {name for name, command in COMMANDS.items() if not isinstance(command, click.Group)}
    for name, says in rows:
        known = {each for parameter in COMMANDS[name].params for each in parameter.opts}
        assert set(re.findall(r"`(--[a-z0-9-]+)", says)) <= known, name


def test_what_the_readme_calls_functions_are_functions_and_none_is_left_out():
    """Catches: a command whose function README does not name, a name that the package does not have."""
    line = README.split("is a function of its name")[1].split(" A path stands")[0]
    named = set(re.findall(r"`([a-z_]+)`", line))
    assert all(callable(getattr(fc, name)) for name in named)
    assert {re.sub("[- ]", "_", name) for name in COMMANDS} & set(fc.__all__) <= named


def test_every_room_and_every_folder_of_tests_is_on_its_map():
    """Catches: a folder that a newcomer finds nowhere explained."""
    rooms = (PACKAGE / "README.md").read_text(encoding="utf-8")
    folders = [path for path in PACKAGE.iterdir() if path.is_dir() and path.name != "__pycache__"]
    assert not [path.name for path in folders if not re.search(rf"^    {path.name}/ ", rooms, re.MULTILINE)]
    tests = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    folders = [path.name for path in (ROOT / "tests").iterdir() if path.is_dir() and not path.name.startswith(("_", "."))]
    assert not [name for name in folders if f"`tests/{name}`" not in tests]


def test_every_command_is_on_its_page():
    """Catches: a command or an option that the generated page leaves out."""
    for command_name, command in COMMANDS.items():
        assert f"## {command_name}\n" in TEXT["commands"]
        for option in (each for each in command.params if isinstance(each, click.Option)):
            assert all(f"`{each}" in TEXT["commands"] for each in option.opts), option.opts


def test_every_key_of_the_schema_is_on_the_page_of_the_site_file():
    """Catches: a page that is not made from the schema any more."""
    keys = set(TOP) | {key for table in TABLES.values() for key in table.model_fields}
    assert not {key for key in keys if f"| `{key}` |" not in TEXT["site-file"]}


def test_every_variable_of_the_results_is_on_the_page_once():
    """Catches: a variable without its row, one in two groups."""
    for name in MEANINGS:
        assert TEXT["results"].count(f"| `{name}` |") == 1, name


def test_every_attribute_of_a_results_file_is_on_the_page_once():
    """Catches: a table of attributes that is typed, and lacks the new ones; a group that is left out."""
    part = TEXT["results"].split("## Attributes\n")[1].split("\n## ")[0]
    assert {name: part.count(f"| `{name}` | {says} |") for name, says in ATTRIBUTES.items()} == dict.fromkeys(ATTRIBUTES, 1)


def test_pages_are_read_again_under_other_code(tmp_path, monkeypatch):
    """Catches: a second build that keeps yesterday's outputs; one that runs every page each time."""
    env = SimpleNamespace(found_docs=sorted(PAGES), doc2path=lambda name: str(PAGES[name]))
    asked = [outdated._outdated(None, env, set(), set(), set()) for _ in range(2)]
    shown = {name for name, text in WRITTEN.items() if "```{command}" in text or "```{python}" in text or "\n@@" in text}
    assert shown <= set(asked[0]) and "stories/engineer" in asked[0] and "commands" in asked[0] and asked[1] == []
    monkeypatch.setattr(outdated, "code_hash", lambda: "other code")
    assert outdated._outdated(None, env, set(), set(), set()) == asked[0]


def test_whatever_a_page_is_made_from_is_in_the_hash(tmp_path):
    """Catches: a template, a table, a page of the package or what builds the pages changed without the pages noticing."""
    for place in ("findings/run.py", "physics/a.csv", "report/templates/full.html", "MODEL_CARD.md", "docs/_ext/pagetables.py"):
        (tmp_path / place).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / place).write_text("before")
    seen = {outdated.code_hash(tmp_path)}
    for number, path in enumerate(sorted(path for path in tmp_path.rglob("*") if path.is_file()), start=2):
        path.write_text("after")
        seen.add(outdated.code_hash(tmp_path))
        assert len(seen) == number, path
    (tmp_path / "docs" / "page.md").write_text("Sphinx sees this one itself")
    assert outdated.code_hash(tmp_path) in seen


def test_every_key_of_the_json_is_on_the_page():
    """Catches: a new key of `run --json` that the page does not explain."""
    found = set()
    for place in JSON_MADE_BY:
        module, function = place.split(".")
        tree = ast.parse((PACKAGE / "findings" / f"{module}.py").read_text(encoding="utf-8"))
        body = next(n for n in tree.body if isinstance(n, ast.FunctionDef) and n.name == function)
        for returned in (n.value for n in ast.walk(body) if isinstance(n, ast.Return)):
            for part in (n for n in ast.walk(returned) if isinstance(n, ast.Dict)):
                keys = {key.value for key in part.keys if isinstance(key, ast.Constant)}
                found |= keys if part is returned or isinstance(returned, ast.BinOp) else set()
    assert {"title", "places", "caution", "losses", "remedy", "weak_hours", "data_sheet"} <= found
    head = TEXT["results"].split("| key | meaning |")[1].split("\n\n")[0]
    assert not {key for key in found if f"`{key}`" not in head}


def test_every_public_name_is_on_a_page_of_the_api_once():
    """Catches: a public name that is documented nowhere, one that is there twice."""
    listed = [name for page in publicpages.API for name in publicpages.api_page(page)]
    assert sorted(listed) == sorted(set(fc.__all__) - {"__version__"})
    assert {f"api/{page}" for page in publicpages.API} <= set(PAGES)
    assert all(f"@@api-{page}@@" in WRITTEN[f"api/{page}"] for page in publicpages.API)


def test_every_picture_is_shown_or_named():
    """Catches: a new picture that the page of pictures does not know."""
    assert not {name for name in fc.__all__ if name.startswith("plot_") and f"{name}" not in TEXT["pictures"]}


@pytest.mark.parametrize("name", MODEL)
def test_equations_are_complete(name):
    """Catches: an equation that lacks a part, a test or a function that is not there, a source without its mark."""
    for title, body in blocks(MODEL[name], "equation"):
        options = dict(re.findall(r"^:(\w+): (.+)$", body, re.MULTILINE))
        assert set(options) == {"code", "source", "valid", "tests"}, title
        wrong = [references.missing_test(each) for each in references.words_of(options["tests"])]
        wrong += [references.missing_code(each) for each in references.words_of(options["code"])]
        assert not any(wrong), (title, [each for each in wrong if each])
        assert references.mark_of(options["source"]), title
        formula, _, symbols = re.sub(r"^:\w+: .+\n", "", body, flags=re.MULTILINE).partition("\n---\n")
        assert formula.strip() and symbols.strip(), title
        assert all(row.count("|") == 2 for row in symbols.strip().splitlines()), title


@pytest.mark.parametrize("name", MODEL)
def test_tests_named_in_sentences_exist(name):
    """Catches: a renamed test that a page still names."""
    wrong = [references.missing_test(each) for each in re.findall(r"\{test\}`([^`]+)`", MODEL[name])]
    assert not any(wrong), [each for each in wrong if each]


def test_what_is_missing_is_seen():
    """Catches: checks of names that find everything there."""
    assert references.missing_test("tests/physics/test_air.py::test_nothing") and references.missing_test("tests/none.py::test_a")
    assert references.missing_code("physics.air.nothing") and references.missing_code("physics.none.a")
    assert references.mark_of("somebody said so") is None


def test_every_formula_of_physics_has_its_equation():
    """Catches: a new formula without a word on the Model pages."""
    named = {each for text in MODEL.values() for _, body in blocks(text, "equation") for each in
             references.words_of(re.search(r"^:code: (.+)$", body, re.MULTILINE).group(1))}  # fmt: skip
    formulas = set()
    for path in (PACKAGE / "physics").glob("*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        formulas |= {f"physics.{path.stem}.{n.name}" for n in tree.body if isinstance(n, ast.FunctionDef) and n.name[0] != "_"}
    assert formulas - NUMERICS <= named, sorted(formulas - NUMERICS - named)


def test_every_default_has_a_source():
    """Catches: a new default whose origin nobody wrote down (docs/_ext/defaultsources.py), a source of a default that is gone."""
    for table, sources in SOURCES.items():
        keys = {key for key, _ in pagetables.default_keys(table)}
        assert set(sources) <= keys, (table, sorted(set(sources) - keys))
        assert all(references.mark_of(said) or said in OTHER_MARKS for said in sources.values()), table
    for table, cls in TABLES.items():
        given = {key for key, info in cls.model_fields.items() if not info.is_required() and info.default not in (None, (), {})}
        assert table in NO_CLAIM or given <= set(SOURCES.get(table, {})), (table, sorted(given - set(SOURCES.get(table, {}))))


def test_cautions_and_limits_are_on_their_page():
    assert CAUTION in TEXT["limits"] and all(sentence in TEXT["limits"] for sentence in NOT_MODELLED)


@pytest.mark.parametrize("name", [name for name in PAGES if blocks(WRITTEN[name], "command")])
def test_the_caution_stands_where_results_are(name):
    assert CAUTION in TEXT[name]


@pytest.mark.parametrize("name", PAGES)
def test_pictures_say_what_they_show(name):
    """Catches: a picture that a reader who does not see it cannot know."""
    for file, body in blocks(WRITTEN[name], "picture"):
        assert re.search(r"^:alt: .{20,}$", body, re.MULTILINE), file


@pytest.mark.parametrize("name", PAGES)
def test_words_that_promise_and_places_that_are_ours_stand_nowhere(name):
    """Catches: a promise in a page; an address, a folder of a machine."""
    assert not re.search(r"\b(secure|safe|detects|covers|guaranteed)\b", TEXT[name], re.IGNORECASE)
    assert not re.search(r"https?://|file://|(?<![\w.])/(work|tmp|home|root|opt)/", TEXT[name], re.IGNORECASE)


def test_no_page_needs_a_network():
    """Catches: a script, a font or a map of another project's pages fetched while pages are built or read."""
    settings = (DOCS / "conf.py").read_text(encoding="utf-8") + (DOCS / "_static" / "site.css").read_text(encoding="utf-8")
    assert not re.search(r"https?:|intersphinx|mathjax|@import|url\(", settings)
