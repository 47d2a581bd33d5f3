"""Equations as MathML, which browsers draw by themselves: no script, no fonts from a network, no TeX to install."""

from __future__ import annotations

from docutils import nodes
from latex2mathml.converter import convert


def _inline(self, node: nodes.math) -> None:
    self.body.append(convert(node.astext(), display="inline"))
    raise nodes.SkipNode


def _block(self, node: nodes.math_block) -> None:
    number = f' id="{node["ids"][0]}"' if node.get("ids") else ""
    self.body.append(f'<div class="equation"{number}>{convert(node.astext(), display="block")}</div>\n')
    raise nodes.SkipNode


def setup(app) -> dict:
    """Add the renderer `mathml` (`html_math_renderer`)."""
    app.add_html_math_renderer("mathml", (_inline, None), (_block, None))
    return {"parallel_read_safe": True, "parallel_write_safe": True}
