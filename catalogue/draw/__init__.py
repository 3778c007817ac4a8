"""Drawing: measured names in, pictures in millimetres out, as SVG text or PNG bytes.

A picture is a ``Scene`` of a few kinds of shapes (``scene``), written by ``svg`` or painted by ``png``. ``check_sheet``
draws one checked name with its weak spots, ``compare`` chosen faces side by side and the contact sheet of the style
groups; ``picture`` is the door for the rooms that follow. May import the rooms up to judging; knows no tag and no page.

Decisions
---------
2026-11, one scene for both kinds of file: what is drawn is decided once, and SVG and PNG cannot differ in it.

2026-11, colours stay apart for every kind of colour vision: three steps of one hue for the layers, orange for what is
wrong, and each mark has a number that the legend explains in words.

2026-11, names that the writing font lacks are drawn by their own face, with their own word spaces: the words of a tag
stand too close to be read as words in a heading.
"""
