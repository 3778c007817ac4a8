"""The coupon: a small test print whose outcome gives a process of one's own.

``sizes`` says what is on it, ``figures`` draws numbers that can be read in print, ``parts`` draws each feature,
``coupon`` puts them on a plate and stacks the bands, ``picture`` and ``files`` turn it into bytes, ``reading`` makes a
profile of what came out.

Decisions, 2026-11:

- Gaps and holes go through the whole thickness, plate included: a look against a lamp answers, and the layer on the
  bed, which spreads, counts as it does for a base.
- Walls stand free on the plate as strokes of the top layer do; necks stand out from its edge at full height, so that
  they can be bent with two fingers.
- Each feature carries its own size in print, in mm without the leading zero: nobody has to count columns.
- Everything is drawn in units of the number's stroke, a wall that the process surely prints. A fine nozzle, slow as it
  is, gets a small coupon, a wide one gets numbers it can print.
- Sizes grow with nozzles above 0.4 mm: on a coupon that prints nothing there is nothing to read.
"""
