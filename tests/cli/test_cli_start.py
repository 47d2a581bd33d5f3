"""What is there before anything is simulated: commands, options, help, version, examples."""

import os
import resource
import subprocess
import sys
from importlib.resources import files

import pytest
from command_line import CAUTION, flat, typed

import fencecast
from fencecast.cli import main

# CONTRACT of the command line: command, and the options that scripts rely on.
OPTIONS = {
    "run": {
        "--output", "--force", "--seed", "--precision", "--max-crossings", "--weather", "--threads", "--no-pictures", "--json",
        "--require", "--sensitivity", "--without", "--lose-each", "--remedy", "--stress", "--installations",
    },
    "check": {"--only", "--group", "--all", "--no-weather", "--require", "--strict", "--output", "--json"},
    "compare": {
        "--lens", "--camera", "--output", "--force", "--seed", "--precision", "--max-crossings", "--weather", "--margin",
        "--nuisance-margin",
        "--threads", "--no-pictures", "--json",
    },
    "tradeoff": {
        "--threshold", "--n50", "--confirm", "--least-size", "--dwell", "--offset", "--output", "--force", "--seed",
        "--crossings", "--weather", "--threads", "--no-pictures", "--json",
    },
    "place": {
        "--cameras", "--budget", "--until-met", "--goal", "--keep", "--from-scratch", "--ceiling",
        "--candidates", "--crossings", "--seed",
        "--precision", "--weather", "--threads", "--output", "--force", "--no-pictures", "--json",
    },
    "bill": {"--results", "--date", "--output", "--force", "--json"},
    "study": {"--output", "--workers", "--scheduler", "--no-pictures", "--json"},
    "weather": {"--output", "--force", "--json"},
    "ranges": {"--json"},
    "explain": {"--camera", "--weather", "--distance", "--at", "--gait", "--body", "--json", "--output"},
    "view": {"--camera", "--weather", "--distance", "--gait", "--body", "--output"},
    "aim": {"--camera", "--output", "--marks", "--cost", "--for", "--issue", "--force", "--json"},
    "walk": set(),
    "built": {
        "--picture", "--lens-free", "--output", "--run", "--walked", "--precision", "--weather", "--threads", "--force", "--json",
    },
    "plot": {"--output", "--before"},
    "report": {
        "--output", "--edition", "--compare", "--for", "--by", "--issue", "--status", "--date", "--mark", "--no-site-file",
        "--force", "--pdf", "--browser", "--json", "--walk-plan", "--score", "--calibration", "--built",
    },
    "from-map": {
        "--output", "--update", "--as", "--near", "--origin", "--grid-north", "--elevation", "--crs", "--unit", "--swap",
        "--open",         "--leave-out", "--fit", "--weather-file", "--no-location", "--force", "--json",
    },
    "to-map": {"--output", "--format", "--weather", "--design", "--no-location", "--decimals", "--force", "--json"},
    "example": set(),
    "verify": {"--card", "--json"},
    "cite": {"--format", "--json"},
}  # fmt: skip
WALK_OPTIONS = {
    "plan": {
        "--output", "--goal", "--weather", "--minutes", "--walks", "--gait", "--full",
        "--misses", "--place", "--from-fence", "--seed", "--together", "--issue", "--force", "--json",
    },
    "chance": {"--pd", "--confidence", "--misses", "--true", "--json"},
    "rehearse": {"--cycles-50", "--correlation", "--place-spread", "--seed", "--site", "--output", "--force", "--json"},
    "score": {"--walkers", "--latest", "--site", "--quick", "--output", "--require", "--force", "--json"},
    "fit": {
        "--walkers", "--site", "--prior-median", "--prior-spread",
        "--nuisance-per-hour", "--output", "--force", "--json",
    },
    "next": {"--walks", "--walkers", "--site", "--json"},
    "again": {"--changed", "--walkers", "--site", "--output", "--force", "--json"},
}  # fmt: skip


def test_commands_and_options_are_those_promised():
    """Catches: a renamed or dropped option, a command out of order in the help."""
    assert list(main.commands) == list(OPTIONS)
    for name, options in OPTIONS.items():
        found = {option for parameter in main.commands[name].params for option in parameter.opts if option.startswith("--")}
        assert found == options, name
    walk = main.commands["walk"]
    assert walk.list_commands(None) == list(WALK_OPTIONS)
    for name, options in WALK_OPTIONS.items():
        found = {
            option for parameter in walk.get_command(None, name).params for option in parameter.opts if option.startswith("--")
        }
        assert found == options, name


def test_help_needs_nothing_heavy():
    """Catches: an import at the top of a module that makes `--help` slow."""
    script = (
        "import sys\nfrom fencecast.cli import main\n"
        "try: main(['--help'])\nexcept SystemExit: pass\n"
        "heavy = {'numpy', 'numba', 'xarray', 'matplotlib', 'rich', 'pydantic', 'shapely', 'scipy'} & set(sys.modules)\n"
        "sys.exit(repr(sorted(heavy)) if heavy else 0)"
    )
    ended = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True)
    assert ended.returncode == 0, ended.stderr
    assert "Where, when and why a thermal perimeter is weak" in ended.stdout


def test_help_answers_at_once():
    """Catches: a slow start. Processor time, the best of five, so that a busy machine does not fail it."""

    def seconds() -> float:
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run([sys.executable, "-m", "fencecast", "--help"], capture_output=True, check=True)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime

    assert min(seconds() for _ in range(5)) < 0.2


def test_every_help_carries_the_caution():
    """Catches: a command whose help promises without the caution."""
    for name in ("", *OPTIONS):
        assert flat(typed(*([name] if name else []), "--help").out).count(CAUTION) == 1, name
    for name in WALK_OPTIONS:
        assert flat(typed("walk", name, "--help").out).count(CAUTION) == 1, name


def test_version_is_the_package_s():
    assert typed("--version") == (0, f"fencecast {fencecast.__version__}\n", "")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["runn"], "Error: No such command 'runn'."),
        (["run"], "Error: Missing argument 'SITE.toml'."),
        (
            ["run", "tiny.toml", "--max-crossings", "1e6"],
            "Error: Invalid value for '--max-crossings': '1e6' is not a valid integer.",
        ),
        (["view", "tiny.toml", "--camera", "C1", "--weather", "x", "-o", "x.png"], "Error: Missing option '--distance'."),
    ],
)
def test_mistyped_commands_end_with_2(yard, words, said):
    """Catches: another exit code for mistakes of usage."""
    ended = typed(*words)
    assert (ended.code, ended.out) == (2, "")
    assert ended.err.splitlines()[-1].startswith(said)


def test_examples_are_listed_with_what_they_show():
    """Catches: a list that is empty in an installed package, or that shows no first line."""
    ended = typed("example")
    assert (ended.code, ended.err) == (0, "")
    folder = files("fencecast") / "examples"
    sites = ("estuary-yard", "gap-under-mast", "marsh-depot", "one-camera", "orchard-yard", "priced-yard", "rope-yard")
    for name in (*sites, "yard-study"):
        first = (folder / f"{name}.toml").read_text(encoding="utf-8").splitlines()[0].removeprefix("# ")
        flat = " ".join(ended.out.split())
        assert f"{name} " in ended.out
        assert all(word in flat for word in first.split())


def test_an_example_is_written_whole_and_overwrites_nothing(yard):
    """Catches: overwriting a site file that the user has changed; changed bytes."""
    first = typed("example", "one-camera")
    assert first == (0, "Written  one-camera.toml\nNext     fencecast run one-camera.toml\n", "")
    path = yard / "one-camera.toml"
    assert path.read_bytes() == (files("fencecast") / "examples" / "one-camera.toml").read_bytes()
    path.write_text("mine")
    again = typed("example", "one-camera")
    assert (again.code, again.out) == (2, "")
    assert again.err == (
        "Error: one-camera.toml exists already, and examples overwrite nothing; move it away or name another folder\n"
    )
    assert path.read_text() == "mine"
    (yard / "sites").mkdir()
    assert typed("example", "one-camera.toml", "sites").code == 0
    assert sorted(os.listdir(yard / "sites")) == ["one-camera.toml"]


def test_a_drawing_comes_in_both_formats(yard):
    """Catches: a drawing without what to type next, one that overwrites."""
    ended = typed("example", "boat-yard")
    assert ended == (
        0,
        "Written  boat-yard.geojson\nWritten  boat-yard.kml\nNext     fencecast from-map boat-yard.geojson -o boat-yard.toml\n",
        "",
    )
    assert typed("example", "boat-yard").code == 2
    assert typed("from-map", "boat-yard.kml", "-o", "boat-yard.toml").code == 0


def test_an_example_comes_with_the_file_that_it_reads_or_not_at_all(yard):
    """Catches: a site file without its weather; half an example where one of the two exists already."""
    ended = typed("example", "marsh-depot")
    said = "Written  marsh-depot.toml\nWritten  marsh-depot-weather.csv\nNext     fencecast run marsh-depot.toml\n"
    assert ended == (0, said, "")
    folder = files("fencecast") / "examples"
    for name in ("marsh-depot.toml", "marsh-depot-weather.csv"):
        assert (yard / name).read_bytes() == (folder / name).read_bytes()
    (yard / "marsh-depot.toml").unlink()
    (yard / "marsh-depot-weather.csv").write_text("mine")
    again = typed("example", "marsh-depot")
    assert (again.code, again.out) == (2, "")
    assert again.err.startswith("Error: marsh-depot-weather.csv exists already, and examples overwrite nothing;")
    assert not (yard / "marsh-depot.toml").exists() and (yard / "marsh-depot-weather.csv").read_text() == "mine"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            ["one-cam"],
            'Error: example "one-cam" is not known: did you mean "one-camera"? fencecast has: "estuary-yard", "gap-under-mast", '
            '"marsh-depot", "one-camera", "orchard-yard", "own-strategy", "priced-yard", "rope-yard", '
            '"yard-study", "boat-yard"\n',
        ),
        (["one-camera", "nowhere"], "Error: nowhere/one-camera.toml cannot be written: nowhere does not exist; make it first\n"),
        (["one-camera", "tiny.toml"], "Error: tiny.toml/one-camera.toml cannot be written: tiny.toml is not a folder\n"),
    ],
)
def test_an_example_that_cannot_be_written_says_why(yard, words, said):
    assert typed("example", *words) == (2, "", said)
    assert os.listdir(yard) == ["tiny.toml"]
