"""What results say of where they come from, and the version that stands in one place."""

import getpass
import json
import re
import socket
import tomllib
from importlib.metadata import version
from pathlib import Path

import pytest
import yaml

import fencecast
from fencecast import provenance
from fencecast.decide.study.pieces import code_hash
from fencecast.findings.cite import cff
from fencecast.sources import COMPUTED, PACKAGE, source_files
from test_sources import imported_from

ROOT = Path(__file__).parents[1]


def test_the_version_is_the_same_wherever_it_stands():
    """Catches: a release whose metadata, citation, changelog or project file tells of another version."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())
    assert "version" not in project["project"] and project["project"]["dynamic"] == ["version"]
    assert project["tool"]["setuptools"]["dynamic"]["version"] == {"attr": "fencecast.__version__"}
    changelog = (PACKAGE / "CHANGELOG.md").read_text(encoding="utf-8")
    newest = re.search(r"^## (\S+) \((not released yet|\d{4}-\d\d-\d\d)\)$", changelog, re.MULTILINE)
    found = {
        "metadata": version("fencecast"),
        "citation": yaml.safe_load((PACKAGE / "CITATION.cff").read_text(encoding="utf-8"))["version"],
        "changelog": newest[1],
    }
    assert found == dict.fromkeys(found, fencecast.__version__)


def test_the_version_is_read_without_importing_anything():
    """setuptools takes it from the text when it is a literal. Catches: a version that a build would have to import numba for."""
    text = (PACKAGE / "__init__.py").read_text(encoding="utf-8")
    assert re.search(r'^__version__ = "\d+\.\d+\.\d+[A-Za-z0-9]*"$', text, re.MULTILINE)


def test_the_citation_file_is_what_the_command_prints_and_keeps_to_the_format():
    """Rules of the Citation File Format 1.2.0 for the keys that are used (from its schema). Catches: a file edited by hand, a key
    that the format does not have, a number where it wants a text."""
    text = (PACKAGE / "CITATION.cff").read_text(encoding="utf-8")
    assert text == cff() + "\n"
    found = yaml.safe_load(text)
    assert {"authors", "cff-version", "message", "title"} <= set(found)  # those that the format requires
    assert set(found) <= {"abstract", "authors", "cff-version", "keywords", "license", "message", "title", "type", "version"}
    assert found["cff-version"] == "1.2.0" and found["type"] == "software" and found["license"] == "Apache-2.0"
    assert found["authors"] and all(set(author) == {"name"} and author["name"] for author in found["authors"])  # entities
    assert all(isinstance(found[key], str) and found[key] for key in ("message", "title", "abstract", "version"))
    assert len(set(found["keywords"])) == len(found["keywords"]) and all(isinstance(word, str) for word in found["keywords"])


def test_what_results_say_of_their_making():
    """Catches: a hash of other sources than those that studies go by, a library that is not named, a name of machine or user."""
    made = provenance.made_by(hourly=True)
    assert re.fullmatch("[0-9a-f]{64}", made["code_sha256"])
    assert code_hash() == f"{fencecast.__version__}+{made['code_sha256'][:16]}"
    libraries = json.loads(made["libraries"])
    assert libraries == {"python": libraries["python"], **{name: version(name) for name in provenance.LIBRARIES}}
    assert "compiled for" in made["processor"]
    told = " ".join(made.values())
    assert "/" not in made["processor"] + made["libraries"] and str(Path.home()) not in told
    for secret in (socket.gethostname(), getpass.getuser()):
        assert not re.search(rf"\b{re.escape(secret)}\b", told), secret
    assert set(made) - set(provenance.made_with(libraries)) == {"processor"}
    assert provenance.HOURLY_PART in made["model"] and provenance.HOURLY_PART not in provenance.made_by()["model"]


def test_all_that_a_run_is_computed_with_is_hashed():
    """Maps give the picture under a plan and no number. Catches: a module that numbers come through outside of the hash."""
    hashed, to_read, seen = set(source_files(COMPUTED)), [PACKAGE / "job.py"], set()
    while to_read:
        path = to_read.pop()
        if path not in seen:
            seen.add(path)
            to_read += imported_from(path)
    outside = {path.relative_to(PACKAGE) for path in seen - hashed}
    assert {path.parts[0] for path in outside} <= {"maps"} and len(seen) > 60


def test_sources_of_the_model_are_those_of_the_model_card():
    """Catches: a source in the paragraph of methods that the card does not name, a mark without its meaning."""
    card = " ".join((PACKAGE / "MODEL_CARD.md").read_text(encoding="utf-8").split())
    parts = [*provenance.MODEL_PARTS, provenance.HOURLY_PART]
    named = {name for part in parts for name in re.findall(r"(?:[A-Z][\w& ]*? |, )?([A-Z]\w+ (?:\d{4}|II \d{4}))", part)}
    named |= set(re.findall(r"\b[A-Z]{3,}[A-Z0-9]* ?\d*\b", " ".join(parts)))
    assert len(named) > 14
    assert [name for name in named if name.strip() not in card] == []
    assert "[P] marks common practice or judgement without a source, [M] a published value" in card
    for figure in ("8 scramblings", "3.1/n", "1.5 t se", "0.1/n"):
        assert figure in card and figure.split()[0] in provenance.INTERVALS


@pytest.mark.parametrize(
    ("text", "model"),
    [
        ("processor\t: 0\nmodel name\t: Invented  CPU 9000\nmodel name\t: another\n", "Invented CPU 9000"),
        ("processor : 0\nCPU part : 0xd0c\n", ""),
        (None, ""),
    ],
)
def test_the_processor_s_model_is_the_system_s(text, model, tmp_path, monkeypatch):
    """Catches: the line's label in the name, a failure where the system has no such file or no such line."""
    monkeypatch.setattr("sys.platform", "linux")
    if text is not None:
        (tmp_path / "cpuinfo").write_text(text)
    assert provenance._processor_model(tmp_path / "cpuinfo") == model


def test_libraries_of_many_processes():
    """Catches: pieces of other libraries that a study's file keeps quiet about, an order that depends on the pieces'."""
    one, other = {"numpy": "2.1.0", "scipy": "1.15"}, {"numpy": "2.2.0", "scipy": "1.15", "numba": "0.61"}
    merged = {"numba": "0.61", "numpy": "2.1.0, 2.2.0", "scipy": "1.15"}
    assert provenance.merged_libraries([one, other, one]) == provenance.merged_libraries([other, one]) == merged
