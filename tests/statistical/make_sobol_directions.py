"""Make sim/fencecast/sampling/sobol_directions.csv from scipy's Sobol sequence (Joe & Kuo 2008 direction numbers).

Gray code order: x[n + 1] = x[n] xor V[lowest zero bit of n], hence V[j] = x[2^j] xor x[2^j - 1]: only public calls are used.
Run: python tests/statistical/make_sobol_directions.py
"""

from pathlib import Path

import numpy as np
from scipy.stats import qmc

DIMENSIONS, BITS = 40, 24


def directions(dimensions: int = DIMENSIONS, bits: int = BITS) -> np.ndarray:
    """Direction numbers, shape (dimensions, bits), uint32."""
    out = np.zeros((dimensions, bits), dtype=np.uint32)
    for bit in range(bits):
        sequence = qmc.Sobol(dimensions, scramble=False, bits=32)
        if bit:
            sequence.fast_forward(2**bit - 1)
        pair = (sequence.random(2) * 2.0**32).astype(np.uint64).astype(np.uint32)
        out[:, bit] = pair[0] ^ pair[1]
    return out


if __name__ == "__main__":
    target = Path(__file__).parents[2] / "sim" / "fencecast" / "sampling" / "sobol_directions.csv"
    np.savetxt(target, directions(), fmt="%d", delimiter=",")
