"""One measure a file: regions in font units in, numbers in the same unit out. Pure functions over arrays.

May import regions, alphabet and records; knows neither disk nor millimetres, which the tests check. ``joins`` and
``chains`` give join curves, ``gaps`` distances of pairs, ``necks`` the neck of a base in full, ``pair_necks`` and
``own_necks`` what predicts it for any name, ``strokes`` widths along centre lines, ``counters`` and ``discs``
inscribed discs, ``style`` the numbers that groups and neighbours are made from; ``painting`` is the one way to pixels.

Decisions (2026-11)

- *A raster finds the centre line, the outline gives the width*: the pixel size does not show in the result. The
  gradient of the distance field separates strokes (walls that face each other) from corner branches, which are the
  outermost half stroke of a square ending.
- *Neck by bisection over insets*, with one seed a letter part: exact to its tolerance and free of text order.
- *Necks for any name follow from pairs.* The weakest neck of a name's two-letter words stands well for the name's own.
  Of a pair only the profiles count: what each letter shows the other on 96 lines, and from above where an arm reaches
  over the next letter (Ty, Fe). Stored is the offset that necks of six widths need. Between two widths a neck that
  suddenly rises more than twice as steeply jumps (check-values G16) and is not extrapolated. Measured are the pairs
  that stand in given names, half of all; the others follow from what is usual to the first letter's right and the
  second's left.
- *A letter's own neck* is the widest disc that can be moved from its middle to its side: connected components of where
  the ground is farther than e, all letters halved at once. Offsets are whole pixels (64 an em), so that straight walls
  grow alike. Where a counter closes between two offsets, half of the rise is taken as even.
- *A dot is held by its neighbours too*: the dot of an i often lies nearer to the next letter than to its own stem. Its
  longest spanning edge with each neighbour is stored; n and l next to an i stand for all low and all tall letters.
"""
