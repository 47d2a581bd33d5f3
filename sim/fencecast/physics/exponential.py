"""exp and log as a few multiply-adds that melt into the loop around them.

A call of the C library's costs more than the sum: every vector register is spilled around it. Terms are summed in pairs (Estrin's
scheme), because one after the other they would wait for each other. Relative error of both under 1e-13; checked against the
library's over their whole range.

Tests: tests/physics/test_exponential.py.
"""

import math

from fencecast.jit import bits_of, compiled_inline, number_of

_LN2 = math.log(2.0)
_LOG2_E = 1.0 / _LN2
# Bits of sqrt(1/2) without the end of its mantissa: splits numbers into 2^e and a rest between sqrt(1/2) and sqrt(2).
_ROOT_HALF_BITS = 0x3FE6A09E00000000
_MOST = 708.0


@compiled_inline
def exponential(x):
    """e^x, x cut to +-708 (infinities too; not for NaN).

    x = n ln 2 + r, |r| <= ln(2) / 2; Taylor's series of e^r to r^11 / 11! (the next term is 6e-15).
    Check: test_exponential.py::test_exponential.
    """
    x = min(max(x, -_MOST), _MOST)
    n = math.floor(x * _LOG2_E + 0.5)
    r = x - n * _LN2
    r2 = r * r
    r4 = r2 * r2
    low = (1.0 + r) + r2 * (1 / 2 + r * (1 / 6))
    middle = (1 / 24 + r * (1 / 120)) + r2 * (1 / 720 + r * (1 / 5040))
    high = (1 / 40320 + r * (1 / 362880)) + r2 * (1 / 3628800 + r * (1 / 39916800))
    return (low + r4 * (middle + r4 * high)) * number_of((int(n) + 1023) << 52)


@compiled_inline
def logarithm(x):
    """ln x of a positive normal number. x = 2^e m; ln m = 2 artanh s, s = (m - 1) / (m + 1), |s| < 0.172, to s^17 / 17.

    Check: test_exponential.py::test_logarithm.
    """
    bits = bits_of(x)
    e = (bits - _ROOT_HALF_BITS) >> 52
    m = number_of(bits - (e << 52))
    s = (m - 1.0) / (m + 1.0)
    z = s * s
    z2 = z * z
    z4 = z2 * z2
    low = (1.0 + z * (1 / 3)) + z2 * (1 / 5 + z * (1 / 7))
    high = (1 / 9 + z * (1 / 11)) + z2 * (1 / 13 + z * (1 / 15)) + z4 * (1 / 17)
    return e * _LN2 + 2.0 * s * (low + z4 * high)
