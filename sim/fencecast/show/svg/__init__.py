"""Figures of a report as SVG, drawn by the code that draws the pictures: results in, markup and its data out.

    plan = plan_svg(results, row=0)              # svg.plan: the numbered plan of one class, worst first; paths for a script
    strip = strip_svg(results)                   # svg.strips: every class along the fence, and the profile under it
    causes = cause_svg(results)                  # svg.strips: why crossings are missed, the worst eight classes
    ramp = ramp_key_svg(0.90)                    # svg.keys: also verdict_key_svg, cause_key_svg, and single swatches
    bar = share_bar_svg(40, 2, 121, 0)           # svg.bars: also pd_dot_svg, cause_bar_svg: for the rows of a table
    carpet = carpet_svg(results)                 # svg.year: None without hours
    walks = predicted_observed_svg(prediction)   # svg.walks: groups of a scored walk test

Each is a frozen dataclass with `svg`, the whole element as text, and its size in millimetres, which are the units of its view box
and of all coordinates beside it. Markup is put into a page as it is (`figure.SvgText`): the surface escaped all texts. Each
takes `label` (what it shows, for those who do not see it) and `css_class`; figures with patterns take a `prefix` of ids, unlike
for every figure of one page. Small bars and swatches have no ids.

`plan_svg`, `strip_svg`, `cause_svg` and `carpet_svg` show places. An edition without places uses bars and keys alone.
"""
