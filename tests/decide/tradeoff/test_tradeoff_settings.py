"""Which settings a trade-off tries: from texts and lists, against the site file's own values, and what it refuses."""

import pytest

from cli.command_line import TINY
from fencecast.decide.tradeoff.settings import FAMILIES, base_values, settings_of
from fencecast.errors import UsageError
from fencecast.site import parse_site

AREA = (
    TINY + '\n[[rule]]\nkind = "area"\npoints_m = [[2.0, 1.0], [8.0, 1.0], [8.0, 3.0], [2.0, 3.0], [2.0, 1.0]]\ndwell_s = 1.0\n'
)


def labels(site, **asked) -> list[str]:
    return [setting.label for setting in settings_of(site, asked)[0]]


def test_lists_are_read_in_every_way_and_the_files_own_value_is_not_tried_twice():
    """Catches: a base simulated twice, values out of order, a list from Python read otherwise than the same text."""
    site = parse_site(TINY)
    wanted = ["as it is", "threshold 4", "threshold 6.5"]
    assert (
        labels(site, threshold="6.5, 5,4")
        == wanted
        == labels(site, threshold=[4, 5.0, 6.5])
        == labels(site, threshold=[6.5, 4, 4])
    )
    assert labels(site, threshold=8) == ["as it is", "threshold 8"]
    wanted = ["as it is", "confirm 2/3", "confirm 5/8"]
    assert labels(site, confirm="5/8,3/5,2/3") == wanted == labels(site, confirm=[(2, 3), "5/8"])
    assert labels(site, confirm=(2, 3)) == ["as it is", "confirm 2/3"]


def test_each_setting_changes_its_own_key_alone():
    """Catches: a family that changes another key, or forgets the user's other keys of the same table."""
    line = 'perimeter = "south"\noffset_m = 0.5\n'
    site = parse_site(
        TINY.replace('perimeter = "south"\n', line) + "\n[decision]\nmin_pixels = 4\ncycles_50 = 2.5\nsize_gate = [0.0, 3.0]\n"
    )
    tried = {setting.label: setting.site for setting in settings_of(site, {})[0]}
    assert tried["as it is"] is site
    changed = {
        "threshold 8": ("threshold_sigma", lambda d: d.threshold_sigma.middle(), 8.0),
        "N50 3": ("cycles_50", lambda d: d.cycles_50.middle(), 3.0),
        "confirm 5/8": ("confirm", lambda d: d.confirm, (5, 8)),
        "least size 0.45": ("size_gate", lambda d: d.size_gate, (0.45, 3.0)),
    }
    for label, (key, value, wanted) in changed.items():
        other = tried[label]
        assert tuple(value(other.decision)) == wanted if isinstance(wanted, tuple) else value(other.decision) == wanted
        for name in type(site.decision).model_fields:
            assert name == key or getattr(other.decision, name) == getattr(site.decision, name), (label, name)
        assert other.rule == site.rule and other.camera == site.camera and other.weather == site.weather
    assert [rule.offset_m for rule in tried["offset 2"].rule] == [rule.offset_m + 2.0 for rule in site.rule]
    assert tried["offset 2"].decision == site.decision
    assert base_values(site) == {"threshold": "5", "N50": "2.5", "confirm": "3/5", "least size": "0", "offset": "0"}
    # A ladder of some twenty settings, without those that are the file's own.
    assert "N50 2.5" not in tried and 12 <= len(tried) <= 22


@pytest.mark.parametrize(
    "own",
    [
        "{ median = 2.0, sigma_ln = 0.3 }",
        '{ dist = "uniform", low = 1.5, high = 2.5 }',
        '{ dist = "normal", mean = 2.0, sd = 0.4, low = 1.0, high = 3.5 }',
        '{ dist = "triangular", low = 1.0, mode = 2.2, high = 3.0 }',
        '{ dist = "choice", values = [1.5, 2.0, 3.0], weights = [0.2, 0.5, 0.3] }',
    ],
)
@pytest.mark.parametrize(("option", "key"), [("N50", "cycles_50"), ("threshold", "threshold_sigma")])
def test_what_varies_moves_its_median_and_keeps_its_spread(option, key, own):
    """Catches: a median tried as one sure number while the site as it is keeps its spread, so that two things change."""
    site = parse_site(TINY + f"\n[decision]\n{key} = {own}\n")
    (_, tried), _ = settings_of(site, {option: "2.5"})
    before, after = getattr(site.decision, key), getattr(tried.site.decision, key)
    assert after.dist == before.dist and after.middle() == pytest.approx(2.5, rel=1e-12)
    for p in (0.05, 0.3, 0.9):
        assert after.quantile(p) / 2.5 == pytest.approx(before.quantile(p) / before.middle(), rel=1e-12)
    assert after.sigma_ln == before.sigma_ln and after.weights == before.weights and tried.label == f"{option} 2.5"


def test_dwell_is_of_area_rules_alone():
    """Catches: a time written into a line rule, a family that a site has no use for."""
    site = parse_site(AREA)
    settings = {setting.label: setting.site for setting in settings_of(site, {"dwell": "0.5,1,2"})[0]}
    assert list(settings) == ["as it is", "dwell 0.5", "dwell 2"]
    assert [(rule.kind, rule.dwell_s) for rule in settings["dwell 2"].rule] == [("line", 0.0), ("area", 2.0)]
    assert not any("dwell" in label for label in labels(parse_site(TINY)))
    with pytest.raises(UsageError, match=r"--dwell has nothing to change: no rule of this site is an area; leave it out"):
        settings_of(parse_site(TINY), {"dwell": "1"})


def test_a_ladder_leaves_out_what_the_site_cannot_have_and_says_so():
    """Catches: a ladder that ends with an error because one line does not fit, a value that is left out in silence."""
    site = parse_site(TINY + "\n[intruder]\npath_m = 3.0\n")
    settings, left = settings_of(site, {})
    assert "offset 3" not in [setting.label for setting in settings] and "offset 2" in [setting.label for setting in settings]
    assert len(left) == 1 and left[0].startswith("offset 3 is left out: rule number 1 offset_m = 3.0")
    with pytest.raises(UsageError, match=r"--offset 3 cannot be: rule number 1 offset_m = 3.0 is not allowed: less than path_m"):
        settings_of(site, {"offset": "1,3"})


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"threshold": "4,x"}, "--threshold '4,x' cannot be read: numbers with commas between; type --threshold 3.5,4"),
        ({"threshold": ""}, "--threshold '' cannot be read: numbers with commas between"),
        ({"threshold": []}, "--threshold names no value; type for instance --threshold 3.5,4"),
        ({"N50": "nan"}, "--n50 'nan' cannot be read: numbers"),
        (
            {"confirm": "3"},
            "--confirm '3' cannot be read: pairs m/n of whole numbers with commas between; type --confirm 2/3,4/6",
        ),
        ({"confirm": "5/3"}, r"--confirm 5/3 cannot be: \[decision\] confirm = \[5, 3\] is not allowed"),
        ({"threshold": "0"}, r"--threshold 0 cannot be: \[decision\] threshold_sigma = 0.0 is not allowed: a threshold above 0"),
        ({"least size": "-1"}, r"--least-size -1 cannot be: \[decision\] size_gate"),
        ({"threshold": "5"}, "there is nothing to try: every value that was asked for is the site file's own"),
    ],
)
def test_what_cannot_be_is_refused_with_what_to_type(asked, said):
    with pytest.raises(UsageError, match=said):
        settings_of(parse_site(TINY), asked)


def test_a_family_has_a_ladder_that_its_own_reader_takes():
    """Catches: a ladder with a value that the schema refuses."""
    site = parse_site(AREA)
    for family in FAMILIES:
        for value in family.ladder:
            family.site(site, value)
