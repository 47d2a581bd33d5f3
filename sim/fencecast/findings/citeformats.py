"""The formats of `fencecast cite`; a module of its own, so that `--help` loads no results to know them."""

FORMATS = ("text", "bibtex", "cff", "json")
