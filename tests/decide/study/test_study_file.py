"""The study file: what is refused, in which words, all in one report."""

from pathlib import Path

import numpy as np
import pytest

import fencecast
from decide.study.study_files import TINY, results_of, tables, tiny
from fencecast.decide.study.file import load_study
from fencecast.decide.study.keypage import study_page
from fencecast.decide.study.results import STUDY_MEANINGS
from fencecast.errors import InputError, UsageError


def problems(**changes) -> list[str]:
    with pytest.raises(InputError) as caught:
        tiny(**changes)
    return [str(problem) for problem in caught.value.problems]


def test_the_tiny_study_is_read(tmp_path):
    """Catches: defaults that moved; keys that are read and not kept."""
    (tmp_path / "s.toml").write_text(TINY, encoding="utf-8")
    study = load_study(tmp_path / "s.toml")
    assert (study.title, study.seed, study.strategies, study.lenses) == ("Tiny study", 5, ("chain", "corner pairs"), ("wide",))
    assert (study.by, study.per_100_m, study.allowances) == ("cameras", False, (10.0, 14.0))
    assert (study.base, study.design_weather, study.crossings) == (None, "worst", 16)
    assert study.yard_names == ("yard 1", "yard 2", "yard 3")
    assert study.requirement.pd == 0.90 and [w.name for w in study.weather] == ["clear night", "fog"]
    assert study.text == TINY and len(study.sha256) == 64


REFUSED = [
    ({"strategies": ["chian"]}, 'strategies = "chian" is not known: one of "chain", "corner pairs", "back to back", '
     '"from buildings" or your own as module:function; type for instance strategies = "chain"'),
    ({"strategeis": ["chain"], "strategies": None}, 'strategeis = ["chain"] is not a known key: did you mean strategies?'),
    ({"strategies": None}, "strategies is missing: a list of one or more names of strategies, none twice; type for instance "
     'strategies = ["chain", "corner pairs"]'),
    ({"lens": ["wild"]}, 'lens = "wild" is not known: one of "wide"; type for instance lens = "wide"'),
    ({"base": "corner pair"}, 'base = "corner pair" is not known: one of "chain", "corner pairs"; type for instance '
     'base = "corner pairs"'),
    ({"design_weather": "fgo"}, 'design_weather = "fgo" is not known: one of "worst", "year", "clear night", "fog"; type for '
     'instance design_weather = "fog"'),
    ({"crossings": 8}, "crossings = 8 is not allowed: a whole number from 16 to 1048576; type for instance crossings = 64"),
    ({"equal": None}, '[equal] is missing: a table [equal] with by = "cameras" and a number or per_100_m'),
    ({"equal": {"by": "cameras"}}, '[equal] = { by = "cameras" } needs one of two keys: either number, for every yard, or '
     "per_100_m, for every 100 m of fence; type for instance per_100_m = [5.0]"),
    ({"equal": {"by": "camera", "number": [4.0]}}, '[equal] by = "camera" is not allowed: one of "cameras", "cost"; type for '
     'instance by = "cameras"'),
    ({"equal": {"by": "cost", "numbers": [4.0]}}, "[equal] numbers = [4.0] is not a known key: did you mean number?"),
    ({"yards": None}, "[yards] is missing: a table [yards] with count, or one or more tables [[yard]] with a path"),
    ({"yards": {"count": 0}}, "[yards] count = 0 is not allowed: a whole number from 1 to 100000; type for instance count = 40"),
    ({"yards": {"count": 1, "shape": ["round"]}}, '[yards] shape = "round" is not allowed: one of "rectangle", "l", "irregular"; '
     'type for instance shape = "rectangle"'),
    ({"yards": {"count": 1, "side": [30.0, 40.0]}}, "[yards] side = [30.0, 40.0] is not a known key: did you mean side_m?"),
    ({"yards": {"count": 1, "side_m": [50.0, 40.0]}}, "[yards] side_m = [50.0, 40.0] is not allowed: [low, high] with low not "
     "above high, both from 25 to 2000 m; type for instance side_m = [60.0, 120.0]"),
    ({"camera": [{}]}, "camera = [{}] has no place in a study: strategies propose the cameras; leave it out"),
    ({"weather": None}, "[[weather]] is missing: one or more tables [[weather]]"),
    ({"yard": [{"path": "a/n.toml"}, {"path": "b/n.toml"}]}, 'yard number 2 path = "b/n.toml" is not allowed: a file name that '
     "no other [[yard]] has"),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "said"), REFUSED, ids=[said.split(" ")[0] + str(k) for k, (_, said) in enumerate(REFUSED)])
def test_what_is_refused_and_in_which_words(changes, said):
    """Catches: a key that is swallowed, a report that does not say what to type instead, one mistake given twice."""
    assert problems(**changes) == [said]


def test_equal_cost_needs_every_price():
    """Catches: parts without a price that count as free."""
    lens = {"wide": {"focal_length_mm": 4.0, "f_number": 1.0}}
    core = {"core": {k: v for k, v in tables()["sensors"]["core"].items() if k != "price"}}
    found = problems(lenses=lens, sensors=core, equal={"by": "cost", "number": [9000.0]})
    assert found == [
        '[equal] by = "cost" is not allowed: a price for every sensor and lens; without one: [sensors.core], [lenses.wide]; '
        'type for instance by = "cameras"'
    ]


def test_equal_numbers_need_all_prices_or_none():
    """Catches: a kit half of which counts as free, found by a worker after hours; a demand for prices that nobody needs."""
    core = {"core": {k: v for k, v in tables()["sensors"]["core"].items() if k != "price"}}
    missing = "a price for every sensor and lens of the kit, or for none; type for instance price = 0.0"
    assert problems(sensors=core) == [f"[sensors.core] price is missing: {missing}"]
    bare = {name: {k: v for k, v in lens.items() if k != "price"} for name, lens in tables()["lenses"].items()}
    assert tiny(sensors=core, lenses=bare).by == "cameras"
    of_kit = {**tables()["lenses"], "bare": {"focal_length_mm": 9.0, "f_number": 1.0}}
    assert tiny(lenses=of_kit, kit={"lenses": list(tables()["lenses"])}).lenses == ("wide", "bare")


def test_one_report_holds_all_mistakes():
    """Catches: an end at the first mistake, or tables of sites that are not checked before a study runs for hours."""
    weather = [{**tables()["weather"][0], "relative_humidity": 75}]
    found = problems(weather=weather, seed=-1, strategies=["chain", "chan"], yards={"count": "ten"})
    assert len(found) == 4 and any("relative_humidity = 75" in text for text in found)


def test_files_that_cannot_be_read(tmp_path):
    """Catches: a traceback instead of one line."""
    for content, words in ((None, "there is no such file"), (b"a = [", "this is not TOML"), (b"\xff", "is not UTF-8 text")):
        path = tmp_path / "s.toml"
        if content is not None:
            path.write_bytes(content)
        with pytest.raises(InputError, match=words):
            load_study(path)
    with pytest.raises(InputError, match="this is a folder"):
        load_study(tmp_path)


def test_a_strategy_of_ones_own_must_load(tmp_path, monkeypatch):
    """Catches: a study that starts and ends with a traceback at its first piece."""
    monkeypatch.chdir(tmp_path)
    with pytest.raises(UsageError, match="strategy no_such_module_x:lay cannot be loaded"):
        tiny(strategies=["no_such_module_x:lay"])


def test_the_worked_study_is_read():
    """Catches: an example that a user cannot run."""
    study = load_study(Path(fencecast.__file__).parent / "examples" / "yard-study.toml")
    assert (
        len(study.yard_names) == 40 and len(study.strategies) == 4 and [w.name for w in study.weather] == ["clear night", "fog"]
    )


def test_the_page_is_made_from_the_schema():
    """Catches: a page that was changed by hand, a limit or default that changed without its page, a key without a meaning."""
    page = Path(fencecast.__file__).parent / "pages" / "study-file.md"
    assert page.read_text(encoding="utf-8") == study_page(), "type: python -m fencecast.decide.study.keypage"


def test_every_variable_of_a_study_is_described_and_on_the_page():
    """Catches: a number in study.nc without unit or meaning, or that the page does not know; a row that no file has."""
    results = results_of(np.full((1, 2, 2, 1, 2), 0.5))
    names = {str(name) for name in [*results.data_vars, *results.coords]}
    assert names == set(STUDY_MEANINGS)
    for name in names:
        assert results[name].attrs["units"] and results[name].attrs["long_name"]
        assert f"| `{name}` | {results[name].attrs['units']} | {results[name].attrs['long_name']} |" in study_page()
