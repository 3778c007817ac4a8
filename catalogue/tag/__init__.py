"""Tags: a request and a face in; a fit, a finished tag, its files as bytes, and orders of many tags out.

``fit`` finds the least change that makes a name hold (``levers``, ``trial``, ``layout``, ``measuring``, ``solving``,
``by_hand``, ``parts``, ``bridges``, ``words``); ``tag`` adds ring and layers; ``exports`` turns a tag into bytes;
``making`` goes from a face of the catalogue to a bundle of files; ``orders`` and its neighbours do that for a table.
May import ``scanner``, the leaves of ``catalogue``, ``licence``, ``store``, ``style``, ``judge`` and ``draw``; never
``page`` or ``commands``.

Decisions, 2026-11:

- Bytes first, files second. ``making.bundle`` gives every file with the facts it states; a command writes them, the
  page hands them out. Nothing is written to be read back.
- A tag keeps its origin, the place of its lower left corner in the coordinates of its fit, so that weak spots found on
  the fit can be drawn on the tag.
- Outlines stray at most ``shapes.LEAN_MM`` from the exact offset, and the fit judges the simplified ones: what is
  judged is what is made. A third of the points stays, and exports take a third of the time.
- A name that cannot be read is no tag: at most half of the openings in and between its letters may close once strokes
  are thickened.
- Straight stems join at once over their whole height, so a wide neck alone may be a seam. Word spaces, tracking and
  offsets go on until a quarter of a line of offset is to spare; size and weight of the letters never change for it.
- The weight axis comes before thickening: it is the type designer's own way to thicken. Capitals keep their height.
- A plate or a bar behind the name is never taken unless asked for: it changes the look of a tag more than any lever.
  The base is grown from letters and plate as one region, so that necks, ring and strength are reckoned on both.
- Changes at single places come after the levers of the whole name, so that what is predicted of those stays true; a
  person may take them first, where they save outline or size. Bridges between letters are never taken unasked.
- A gap closes to what holds with room, at most to the least gap, and no more than three: more are the face's spacing.
- A bridge is wider in the base than in the middle, so that the stack keeps its step and outlines never coincide.
- The ring goes where it is wished. ``end``, the usual one, takes places from which the name hangs straight down first;
  ``level`` those above the centre of mass only, and a lug where letters leave a dip there.
- Strength is a range in newtons from cross sections of the stacked bands, bending first, never a verdict. A key ring is
  loose and bends nothing, so cuts through its hole count in tension only.
- The skin of an STL is put together from outlines, for bands lie inside one another; a boolean of solids, twenty times
  slower, is kept for stacks whose skin does not close.
- The body is tested with points merged as a reader of single precision would: a volume that matches hides such faults.
"""
