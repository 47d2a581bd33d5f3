"""Settings of the documentation site: `python -m sphinx -W -n --keep-going -b html sim/fencecast/docs build/docs`.

Nothing is fetched from a network: no maps to other projects' pages, no script for equations (MathML, `_ext/mathml.py`), no fonts.
What commands print and draw is made while the pages are read (`_ext/executed.py`); tables come from the schema and the code
(`_ext/pagetables.py`). Pages have no date, so that the same sources give the same pages.
"""

import os
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent / "_ext"))
os.environ["MPLBACKEND"] = "Agg"

import fencecast  # noqa: E402

project = "fencecast"
author = "The fencecast developers"
version = release = fencecast.__version__
copyright = author  # without a year: see above

extensions = [
    "myst_parser",
    "sphinx.ext.autodoc",
    "sphinx.ext.autosummary",
    "numpydoc",
    "mathml",
    "executed",
    "modelpages",
    "generated",
    "outdated",
    "docstrings",
]
exclude_patterns = ["README.md", "_ext"]
nitpicky = True
# Not on these pages: other projects' types (there is no map to them without a network), and tables and inner types of rooms,
# which users get from functions and name nowhere.
nitpick_ignore_regex = [
    ("py:.*", r"(numpy|np|xarray|xr|matplotlib|os|datetime|pathlib|collections|typing)\..*"),
    ("py:class", r"fencecast\.[a-z_]+\..+|Hider|Outside|Shape|PathLike"),
]
myst_enable_extensions = ["dollarmath", "deflist", "colon_fence"]
myst_heading_anchors = 3
suppress_warnings = ["myst.header"]  # pages from the schema begin below their own heading

autosummary_generate = False
autodoc_typehints = "signature"
autodoc_member_order = "bysource"
python_maximum_signature_line_length = 88
numpydoc_show_class_members = False
default_role = "code"

html_theme = "furo"
html_title = f"fencecast {release}"
html_static_path = ["_static"]
html_css_files = ["site.css"]
html_math_renderer = "mathml"
html_show_sphinx = False
html_copy_source = False
html_show_sourcelink = False
html_last_updated_fmt = None
html_theme_options = {
    "light_css_variables": {
        "font-stack": "system-ui, -apple-system, 'Segoe UI', 'Liberation Sans', Arial, sans-serif",
        "font-stack--monospace": "ui-monospace, 'DejaVu Sans Mono', 'Liberation Mono', monospace",
        "color-brand-primary": "#7A3409",
        "color-brand-content": "#7A3409",
    },
    "dark_css_variables": {"color-brand-primary": "#E9972F", "color-brand-content": "#E9972F"},
}
