"""What the model is checked against: checks of the product's own functions by outside sources, one module for each subject.

check.py          what a check is, and how outside libraries are found
catalogue.py      all subjects in order
radiance air droplets clothing optics picture sight decision statistics crossings   the checks
mie.py, comfort.py, rays.py, yard.py   the outside sides of some, and the invented scenes they share
independent/      a slow NumPy Monte Carlo of the same model, written first, sharing no code with the product
sites/            five invented sites for it

`fencecast verify` prints the checks as a table; tests/evidence runs the same ones, and breaks the product under each of them.
"""
