"""Judging: a name, a size and a printer in; how surely the name holds in a face out, with a reason for each point lost.

What goes in is a ``Request`` (lines, size, process, stack, language) with the stored measures of all faces or the
outlines of one. What comes out is a ``Listing`` (faces in order, predicted from the tables, the first measured), a
``Check`` (one face measured in full) or the weak spots of letters as they will be made. May import the rooms of
licences, store and style; knows nothing of pictures, tags, page and commands. Whatever judges many faces at once
(``ranking`` and what it uses) loads no geometry library; those that open fonts are ``typesetters``, ``check``,
``measuring`` and ``listing``.

Decisions
---------
2026-11, the hold law stands once, over arrays (``hold.losses``): a ranking judges all faces in one call, and ``judge``
puts one face's losses into words, so that the two cannot differ.

2026-11, a name holds from 50 on, and hold is continuous: what breaks the hold caps it at 50 where its limit is met by
nothing, and lifts the cap by 2.8 points for every hundredth of a millimetre of margin. Points for small margins come
on top. So a face on the edge stands between those that hold and those that do not, and its reason says by how little.

2026-11, hold and size: letters made smaller at the same offset in mm do move nearer to each other and join more easily.
So hold is monotone when the whole drawing shrinks, when a line grows wider and when an offset shrinks; it is not
monotone in the size alone, because print is not.

2026-11, thin strokes by the ink that an opening takes away (``strokes``), letters grown back with mitred corners: the
centre line counted the tip of an acute corner like a hairline and refused heavy italics. Stored widths are those along
the centre line; weighted by area and read at a larger share they predict the opening well.

2026-11, slivers are no counters: a hole narrower than 0.012 em is a seam between strokes that fills at every size. The
limit is in em, so that no size makes a counter appear.

2026-11, no margin is a weak spot: offset to spare below a quarter of a line, what a printed outline strays, is marked.

2026-11, weak spots stand once (``weak_spots``), found in the letters as they will be made and the stack grown from
them. A check and a tag of the same name mark the same places.

2026-11, contextual faces draw a letter in another way in a word than in its pairs, which tables cannot know. The share
of test words in which that shows is stored; such faces are measured wherever they are shown. So are rows within 15
points of what holds, and all rows of a name with a pair that no table has.

2026-11, necks for any name: the weakest neck of a name's two-letter words stands well for the name's own, so pairs
suffice. Each joint's neck is read alone and the least counts; between two widths a neck that suddenly rises more than
twice as steeply jumps (check-values G16) and is not run ahead of. A dot is held by its neighbours too: n and l next to
an i stand for all low and tall letters.

2026-11, names in a script that no table covers are measured in the faces that have their letters, at most 100 or as
many as are asked for, the most promising first; how many were left out is said.

2026-11, words stand as far apart as a channel of the least gap between their middle layers needs (``stack``,
``spacing``): 1.5 mm for the usual stack, so that they read as two words, where at 1.0 mm the middle layers touched.
Over a whole word space no base hangs together, and where less than a quarter of a line is to spare the base has no
margin. What was taken out is reported.

2026-11, slits (``slits``): a closing by half the least gap fills the tips of all corners too. What is filled is a slit
only when it is at least a line long and has more than one mouth, or one into a channel: it takes up more than 0.7 of
the box over its mouth, where a corner of straight sides takes a half.

2026-11, a face that cannot be sized as asked is counted and named, and stops nobody else's ranking.

2026-11, a name as made: the fit's levers are moved over all faces at once (``made``, ``made_search``, ``chain``) in its
order, steps and limits, which both take from ``reach``. Thin strokes are the weak part: stored widths miss the opening
by a tenth in one face of four, and near the least wall that decides whether letters are thickened at all. So the first
rows are fitted in full. Of several lines a chain asks for too much: letters hang together by way of the other line.

2026-11, the order as made (``made_order``): most fits stop at 70 to 85 points, with their reserve, so 70 and more is
one band. Inside it a figure of craft (``craft``) less what the changes cost decides, one line a family, groups in turn.
"""
