"""The report: one HTML page that a client takes home. Facts (plain frozen data) from results, pages from facts, and nothing else.

options.py      what the sender says: for whom, by whom, issue, date, mark
sections/       one module a section: its facts from results
words.py        sentences that only the report says: in plain words, what usually helps, what is left unsaid
full.py         the full edition: a list of sections; a later section is one row of it
client.py       the client edition: an allow-list of its own, which never sees places, cameras or schedules
cells.py        every metre in every class as it is printed: whole hundredths, and what is said of it
figures.py      figures of the pictures' own drawing code as markup
scriptdata.py   what the full edition's script knows, as JSON; the script is templates/report.js
policy.py       the content policy of a page and its hashes; text inside style sheets and scripts
render.py       facts to HTML: the templates, escaping always on
"""
