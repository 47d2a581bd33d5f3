"""Whether analytics take what they resolve for a person: by its size in the picture, and by its shape.

What reaches N_th is judged once per encounter and camera, at the look with the most resolved cycles N. It is accepted with
A = S G: S by the shape, G by the size gate. One stated confusion model, judgement until a log of real alarms calibrates it; the
analytics learn nothing, animals in a group count singly, and a partly hidden person looks smaller, as in life.

Tests: tests/physics/test_acceptance.py.
"""

import math

from fencecast.jit import compiled
from fencecast.physics.detector import normal_cdf
from fencecast.physics.discrimination import discrimination_probability

# Height, breadth across and depth along the line of sight [m] of the upright person that sizes are told in.
PERSON_M = (1.75, 0.5, 0.28)


@compiled
def size_ratio(cycles, person_area_px):
    """s: side of the seen body over that of an upright person on the same ground point of the same picture [-].

    cycles [-]: resolved cycles N, so that the seen area is (2 N)^2; person_area_px [px^2] of `PERSON_M` there, zero or less (no
    such person can be pictured there) gives NaN. Scalars. s = sqrt(A_px q / A_person): perspective and steep views cancel.
    Check: test_acceptance.py::test_ratios_*.
    """
    if not person_area_px > 0.0:
        return math.nan
    return 2.0 * cycles / math.sqrt(person_area_px)


@compiled
def size_acceptance(ratio, cycles, low, high, spread):
    """G: chance that an estimate of the size passes the gate [-].

    ratio [-]: `size_ratio`, NaN passes (nothing to hold it against); cycles [-] > 0; low, high [-]: shares of a person's size, 0
    = no such end; spread [-] of the estimate's logarithm. Scalars.
    G = max(Phi((ln s - ln low) / sigma) + Phi((ln high - ln s) / sigma) - 1, 0): one estimate lies between both ends.
    sigma = sqrt(spread^2 + (1 / (2 N))^2): one pixel on a side of 2 N pixels. Judgement, no source.
    Check: test_acceptance.py::test_gate_*.
    """
    if math.isnan(ratio) or (low <= 0.0 and high <= 0.0):
        return 1.0
    if ratio <= 0.0 or cycles <= 0.0:
        return 0.0 if low > 0.0 else 1.0
    sigma = math.sqrt(spread * spread + 0.25 / (cycles * cycles))
    size = math.log(ratio)
    above = normal_cdf((size - math.log(low)) / sigma) if low > 0.0 else 1.0
    if high <= 0.0:
        return above
    below = normal_cdf((math.log(high) - size) / sigma)
    return max(above + below - 1.0, 0.0) if low > 0.0 else below


@compiled
def shape_acceptance(cycles, shape_cycles, confused):
    """S: chance that the shape does not tell the body from a person [-].

    cycles [-]: resolved cycles N; shape_cycles [-] > 0: those at which half of all bodies are told by their shape; confused
    [0-1]: share taken for a person when the shape is fully resolved, 1 for a person. Scalars.
    S = 1 - (1 - c) P(N / N_shape), P = `discrimination_probability`. Judgement, no source.
    Check: test_acceptance.py::test_shape_*.
    """
    return 1.0 - (1.0 - confused) * discrimination_probability(cycles / shape_cycles)
