"""The table of distances on the console and in `--json`: the numbers of the picture's bars, with intervals."""

import json
import math

import pytest

from fencecast.estimate.results import Results
from fencecast.findings.blocks import words_of
from fencecast.findings.lensdistances import distance_blocks, distance_object
from fencecast.show.look.data import distance_data
from show import invented_distances
from show.wording import wrong_words


@pytest.mark.parametrize("name", invented_distances.ALL)
def test_table_object_and_picture_have_the_same_stretches(name):
    """Catches: a lens or class of another row, a stretch lost between the three, NaN in the object, promises in words."""
    results = Results.of(invented_distances.ALL[name]())
    found = distance_object(results)
    json.dumps(found, allow_nan=False)
    said = words_of(distance_blocks(results))
    assert wrong_words([said]) == []
    rows = {(row["lens"], row["weather"]): row["stretches"] for row in found["distances"]}
    assert len(rows) == results.sizes["lens"] * results.sizes["weather"]
    for block in distance_data(results).panels:
        for panel in block:
            for curve in panel.curves:
                stretches = rows[curve.lens.name, panel.summary.name]
                assert (stretches is None) == bool(all(map(math.isnan, curve.pd)))
                assert [(each["from_m"], each["to_m"]) for each in stretches or ()] == list(curve.reaches)
                for each in stretches or ():
                    assert each["beyond_simulated"] == (each["to_interval_m"] is None)
                    if not each["beyond_simulated"]:
                        low, high = each["to_interval_m"]
                        assert (low is None or low <= each["to_m"]) and each["to_m"] <= high
                        assert f"{each['to_m']:.1f} (" in said
    assert ("beyond 90" in said) == any(each["beyond_simulated"] for row in rows.values() for each in row or ())
    assert ("nowhere" in said) == any(row == [] for row in rows.values())
