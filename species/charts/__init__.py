"""Pure drawing of growth charts as SVG text: no Django, no clock, no files, no chart library.

The same data give the same bytes. Everything is grey: what matters is told by tone, weight of line, shape of mark
and words, so that a copy of a copy still reads.
"""
