"""`fencecast cite` and `fencecast --version --json`: every fact against the file or the process that it is of."""

import ast
import hashlib
import json
import re

import numpy as np
import pytest
import yaml
from command_line import CAUTION, HOURLY, TINY, typed
from test_cli_hourly import CLEAR, FOG, record_of

import fencecast as fc
from decide.study import study_files
from fencecast import provenance
from fencecast.estimate.attributes import ATTRIBUTES, COMPARISON, RUN, SHARED, SIMULATED, STUDY, TRADEOFF
from fencecast.findings.check import review_attrs
from fencecast.findings.methods import NEWER, methods_of
from fencecast.site import parse_site
from fencecast.sources import PACKAGE


@pytest.fixture(scope="module")
def run():
    return fc.run(parse_site(TINY), precision=0.2, max_crossings=64, weather=["thick fog"])


TINY_TWO = [parse_site(TINY), parse_site(TINY.replace("height_m = 4.0", "height_m = 5.0")).replace(title="Higher")]


@pytest.fixture(scope="module")
def compared():
    return fc.compare(TINY_TWO, precision=0.3, max_crossings=32)


def test_version_with_json_tells_what_results_depend_on():
    """Catches: progress or a second object on standard output, keys that scripts rely on, another hash than results carry."""
    ended = typed("--version", "--json")
    assert (ended.code, ended.err) == (0, "")
    told = json.loads(ended.out)
    assert list(told) == ["version", "code_sha256", "python", "libraries", "processor"]
    made = provenance.made_by()
    assert told["code_sha256"] == made["code_sha256"] and told["processor"] == made["processor"]
    assert {"python": told["python"], **told["libraries"]} == json.loads(made["libraries"])
    assert typed("--json", "--version") == ended
    assert typed("--version") == (0, f"fencecast {fc.__version__}\n", "")


def test_json_before_a_command_is_refused_with_what_to_type(yard):
    """Catches: an option before the command that is taken and does nothing."""
    ended = typed("--json", "run", "tiny.toml")
    assert (ended.code, ended.out) == (2, "") and "fencecast run SITE.toml --json" in ended.err


@pytest.mark.parametrize("format", ["text", "bibtex", "cff", "json"])
def test_the_program_is_cited_without_what_it_does_not_know(format):
    """Catches: an identifier, a year or an address that nobody gave."""
    ended = typed("cite", "--format", format)
    assert (ended.code, ended.err) == (0, "")
    assert ended.out.rstrip("\n") == fc.cite(format=format)
    assert fc.__version__ in ended.out and "The fencecast developers" in ended.out and "Apache-2.0" in ended.out
    assert not re.search(r"doi|https?:|\b20\d\d\b", ended.out, re.IGNORECASE)


def test_a_run_s_paragraph_holds_its_file_s_own_numbers(run, yard):
    """Catches: a number of the program or of another run in the paragraph, a condition left out, a lost caution."""
    run = run.assign_attrs(
        version="9.9.1", crossings_total=1234567, processor="Invented CPU", seed=77, created="2031-01-02T03:04"
    )
    fc.save_results(run, "results.nc")
    ended = typed("cite", "results.nc")
    assert (ended.code, ended.err) == (0, "")
    for words in (
        "with fencecast 9.9.1, code SHA-256 " + provenance.code_sha256()[:16],
        "version 9.9.1",
        '"Tiny yard" (site file SHA-256 ' + run.attrs["site_sha256"][:16],
        "12 m of fence in one section and 3 segments, one camera",
        "Weather classes run, of 2 in the site file: thick fog 200 h/yr.",
        "Seed 77, 1,234,567 crossings for 3 numbers",
        "half width of 0.2 of the 95 % interval",
        "Encounter correlation 0.5.",
        provenance.INTERVALS,
        "Required: Pd 0.90;",
        *provenance.MODEL_PARTS,
        "Computed 2031-01-02 with Python ",
        f"numpy {json.loads(run.attrs['libraries'])['numpy']}",
        "on Invented CPU.",
        "Not modelled or uncertain: A resolution law for human observers",
    ):
        assert words in ended.out, words
    assert (
        "on record" not in ended.out and "without " not in ended.out.split("Not modelled")[0].split("Site:")[1].split("Model:")[0]
    )
    assert ended.out.rstrip("\n").endswith(CAUTION)
    assert max(len(line) for line in ended.out.splitlines()) > 500  # a paragraph to paste is not broken into lines
    lost = fc.cite(run.assign_attrs(without="C7, C8"))
    assert "one camera, without C7, C8." in lost


def test_how_far_the_precision_was_reached_is_counted(run):
    """Catches: a precision that was asked for told as one that was reached."""
    half = float((run["pd_high"] - run["pd"]).max())
    assert "reached by all of them" in fc.cite(run.assign_attrs(precision=0.5))
    assert f"not reached by 3 of them, the widest at {half:.3f}" in fc.cite(run.assign_attrs(precision=1e-6))


def test_an_older_file_says_what_is_not_on_record(run):
    """Catches: this program's own code, libraries or model told as those of a file that does not name them."""
    older = run.copy()
    older.attrs = {name: value for name, value in run.attrs.items() if name not in NEWER}
    text = fc.cite(older)
    assert "Not on record in this file: " + ", ".join(NEWER.values()) in text
    for other in (provenance.code_sha256()[:16], "numpy", "LOWTRAN7", "Sobol", provenance.processor()):
        assert other not in text, other
    told = json.loads(fc.cite(older, "json"))["results"]
    assert told["not_on_record"] == list(NEWER.values()) and not set(NEWER) & set(told)
    assert "identifiers" not in fc.cite(older, "cff") and "Code SHA" not in fc.cite(older, "bibtex")


def test_entries_of_a_run(run):
    """Catches: an entry of another version, a title that TeX cannot set, an identifier that is no text."""
    odd = run.assign_attrs(title="Yard_1 & 50 % {east}", version="1.2")
    entry = fc.cite(odd, "bibtex")
    assert r"Yard\_1 \& 50 \% \{east\}" in entry and entry.startswith("@misc{fencecast_1_2,")
    assert entry.count("{") - entry.count(r"\{") == entry.count("}") - entry.count(r"\}")
    found = yaml.safe_load(fc.cite(odd, "cff"))
    assert found["version"] == "1.2"  # quoted: else a number
    code = {"type": "other", "value": f"sha256:{provenance.code_sha256()}"}
    assert [{key: each[key] for key in code} for each in found["identifiers"]] == [code]
    told = json.loads(fc.cite(odd, "json"))
    assert told["version"] == "1.2" and told["results"]["code_sha256"] == provenance.code_sha256()
    assert told["results"]["model"][0] == provenance.MODEL_PARTS[0] and told["caution"] == CAUTION
    assert told["results"]["methods"] in fc.cite(odd)


def test_comparisons_and_studies_have_paragraphs_of_their_own(compared):
    """Catches: a comparison told as a run, the file's own meaning of a difference left out, a study that wants a processor."""
    text = fc.cite(compared)
    names = [str(name) for name in compared["variant"].values]
    assert f'Designs compared: "{names[0]}" and "{names[1]}"' in text and 'Methods of the comparison "Tiny yard"' in text
    assert compared["pd_difference"].attrs["long_name"] in text and "not on record" not in text.lower()
    study = study_of()
    text = fc.cite(study)
    assert 'strategies "chain" and "corner pairs"' in text and "on three yards invented from the seed" in text
    assert "at equal cameras (4 and 6 a yard)" in text and "clear night 3,000 h/yr and fog 200 h/yr." in text
    assert "Computed with numpy 2.0." in text and "not on record" not in text.lower() and CAUTION in text


def study_of():
    random = np.random.default_rng(3)
    return study_files.results_of(random.uniform(0.5, 0.9, (2, 3, 2, 1, 2)))


def test_hashes_of_the_weather_file_are_those_of_its_bytes(tmp_path):
    """Catches: the hash of what was parsed, of the site file, or none."""
    (tmp_path / "hourly.toml").write_text(HOURLY)
    content = record_of(CLEAR, FOG, FOG).encode()
    (tmp_path / "autumn.csv").write_bytes(content)
    run = fc.run(tmp_path / "hourly.toml", precision=0.3, max_crossings=32)
    assert run.attrs["weather_sha256"] == hashlib.sha256(content).hexdigest()
    assert f'the hourly record "{run.attrs["weather_source"]}", SHA-256 {hashlib.sha256(content).hexdigest()[:16]}' in fc.cite(
        run
    )
    assert provenance.HOURLY_PART in fc.cite(run) and str(tmp_path) not in fc.cite(run)
    assert set(run.attrs) <= set(SHARED | SIMULATED | RUN)
    older = run.copy()
    older.attrs = {name: value for name, value in run.attrs.items() if name != "weather_sha256"}
    assert methods_of(older).missing == ("the hash of the weather file",)


def test_every_attribute_has_its_meaning(run, compared):
    """Catches: an attribute that no table explains, one that is promised of all files and missing in one."""
    for data, own in ((run, SIMULATED | RUN), (compared, SIMULATED | COMPARISON), (study_of(), STUDY)):
        assert set(data.attrs) <= set(SHARED | own)
        assert set(SHARED) - {"weather_source", "period_years"} <= set(data.attrs)
    assert len(ATTRIBUTES) == sum(map(len, (SHARED, SIMULATED, RUN, COMPARISON, TRADEOFF, STUDY)))  # no name in two tables
    assert "processor" not in study_of().attrs  # whole files of a study can be compared across machines


def test_attributes_that_options_add_have_their_meaning():
    """Read in the sources: no option has to be run. Catches: an attribute of a remedy, a loss or a review without a line."""
    named = set(review_attrs(fc.check(parse_site(TINY)), "tiny.toml"))
    for path in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Subscript):
                if ast.unparse(node.targets[0].value) == "results.attrs" and isinstance(node.targets[0].slice, ast.Constant):
                    named.add(node.targets[0].slice.value)
            elif (
                isinstance(node, ast.AugAssign)
                and ast.unparse(node.target) == "results.attrs"
                and isinstance(node.value, ast.Dict)
            ):
                named |= {key.value for key in node.value.keys if key is not None}
    assert {"remedy", "losses_by", "installations", "design_review", "weather_sha256", "margin", "base"} <= named
    assert named - set(ATTRIBUTES) == set()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["cite", "nothing.nc"], "nothing.nc does not exist"),
        (["cite", "tiny.toml"], "tiny.toml cannot be read as a results file"),
        (["cite", "--format", "bibtex", "--json"], "--json and --format bibtex do not go together"),
        (["cite", "--format", "endnote"], "Invalid value for '--format'"),
    ],
)
def test_what_cannot_be_cited_ends_with_2(yard, words, said):
    ended = typed(*words)
    assert (ended.code, ended.out) == (2, "") and said in ended.err


def test_formats_of_the_function_are_checked():
    with pytest.raises(fc.UsageError, match='format "bibtec" is not known.*did you mean "bibtex"'):
        fc.cite(format="bibtec")
    with pytest.raises(fc.UsageError, match="int holds no results"):
        fc.cite(3)
