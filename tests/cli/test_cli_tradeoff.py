"""`fencecast tradeoff`: folder, tables, JSON, picture drawn again, wrong requests, a site without stimuli."""

import json
import os

import pytest
from command_line import CAUTION, TINY, errors_of, flat, typed

STIMULI = (
    TINY.replace("air_temperature_c = 5.0", "air_temperature_c = 12.0")
    + '\n[[stimulus]]\nkind = "insect"\n\n[[stimulus]]\nkind = "web"\n'
)
QUICK = ("--crossings", "16", "--weather", "clear night")


@pytest.fixture
def stimuli(yard):
    (yard / "stimuli.toml").write_text(STIMULI)
    return yard


def test_settings_are_traded_and_drawn(stimuli):
    """Catches: a folder without its picture, tables without a setting, another picture when it is drawn again."""
    ended = typed("tradeoff", "stimuli.toml", "--confirm", "2/3,5/8", "--threshold", "8", *QUICK)
    assert ended.code == 0, ended.err
    assert sorted(os.listdir("stimuli-tradeoff")) == ["manifest.json", "tradeoff.nc", "tradeoff.png"]
    said = flat(ended.out)
    assert said.count("confirm 5 of 8 ") >= 2 and "N50" not in said and CAUTION in said and errors_of(ended) == []
    drawn = (stimuli / "stimuli-tradeoff" / "tradeoff.png").read_bytes()
    again = typed("plot", "stimuli-tradeoff/tradeoff.nc")
    assert again.code == 0 and (stimuli / "stimuli-tradeoff" / "tradeoff.png").read_bytes() == drawn
    refused = typed("tradeoff", "stimuli.toml", "--threshold", "8", *QUICK)
    assert (refused.code, refused.out) == (2, "") and "add --force to replace" in refused.err
    ended = typed("tradeoff", "stimuli.toml", "--threshold", "8", *QUICK, "--force", "--json")
    made = json.loads(ended.out)
    assert [row["setting"] for row in made["settings"]] == ["as it is", "threshold 8"] and made["crossings_per_cell"] == 16
    assert made["nuisance_asked"] is True and made["caution"] == CAUTION
    assert [os.path.basename(name) for name in made["files"]] == ["tradeoff.nc", "tradeoff.png", "manifest.json"]


def test_a_site_without_stimuli_says_that_only_noise_is_counted(yard):
    """Catches: a setting praised for its price in sensor noise, a picture of a trade that there is not."""
    ended = typed("tradeoff", "tiny.toml", "--threshold", "3.5", *QUICK)
    assert ended.code == 0, ended.err
    assert "no setting is called free of cost, and none dominated" in flat(ended.out)
    assert "no picture: without [[stimulus]] tables" in flat(ended.err)
    assert sorted(os.listdir("tiny-tradeoff")) == ["manifest.json", "tradeoff.nc"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--threshold", "4;5"], "--threshold '4;5' cannot be read: numbers with commas between"),
        (["--confirm", "9/9"], "--confirm 9/9 cannot be: [decision] confirm = [9, 9] is not allowed"),
        (["--dwell", "2"], "--dwell has nothing to change: no rule of this site is an area; leave it out"),
        (["--crossings", "10"], "crossings 10 is not allowed: a multiple of 8 from 16 to 4096"),
        (["--weather", "fog"], 'no weather class "fog" in this site'),
        (["--threads", "0"], "threads 0 is not allowed"),
    ],
)
def test_wrong_requests_end_with_2_before_any_work(yard, words, said):
    """Catches: a folder that is made for a request that cannot be met."""
    ended = typed("tradeoff", "tiny.toml", *words)
    assert (ended.code, ended.out) == (2, "") and said in flat(ended.err)
    assert os.listdir(yard) == ["tiny.toml"]
