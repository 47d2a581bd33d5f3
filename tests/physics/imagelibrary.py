"""How tests use the image library that draws bodies and blur."""

import galsim

# Tight enough that the image library's own error is 5e-9 of the peak (its defaults leave 3e-5).
TIGHT = galsim.GSParams(
    folding_threshold=1e-5, maxk_threshold=1e-6, kvalue_accuracy=1e-9, xvalue_accuracy=1e-9, maximum_fft_size=16384
)
