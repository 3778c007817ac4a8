"""Measures fonts without a size: folders in, frozen records of scale-free numbers out.

::

    paths ─ files ─▶ workers ─▶ shaping ─ contours ─▶ regions ─▶ tables, measures ─▶ records
                        └──────── evidence (licence statements as found) ──────────────┘

A letter has no size until somebody prints it, so everything here is in font units or in fractions of the em; no file
of this package knows a millimetre of a tag, a printer, a catalogue or a verdict. It imports nothing of ours outside
itself. What it stores are thresholds, not verdicts: "join offset 0.061 em" answers every question of the form "one
piece at this offset?". A name is a chain of letter pairs, so one table of pairs a face serves any name.

``files`` finds and reads font files and trusts nothing on the disk. ``shaping`` sets text with HarfBuzz, ``regions``
makes valid planar shapes of outlines, ``lettering`` a word of placed letters. ``measuring`` measures one face, with
its table in ``tables/`` and one measure a file in ``measures/``. ``workers/`` does so for many files in processes that
may crash. ``reasons`` is the closed list of why a font has no measures, ``records`` what comes out.

Decisions (2026-11)

- *Outlines come from HarfBuzz, unions from Clipper, all else from GEOS.* HarfBuzz never crashed on thousands of broken
  fonts, Clipper takes the non-zero rule on integers, GEOS ran out of memory on a self-crossing glyph. FreeType draws
  pictures and gives a second opinion (``second_engine``).
- *Outlines are snapped to 1/16 font unit before the union*, which runs on a grid 64 times finer. Neighbours that share
  a slanted edge become one polygon there; after a division by the em only about half of them do.
- *All pairs go through HarfBuzz in one buffer*, separated by a noncharacter. Where HarfBuzz does not flag a place as
  unsafe to break it promises the same glyphs as alone; flagged texts are set alone.
- *A letter is there when it has ink where it stands.* A mapped glyph without contours, ``.notdef`` and a letter that a
  rule drops count as missing; white space and characters that only steer others may be blank.
- *Every script has its letters.* A face with fewer than half the letters A to z is measured by the most used letters
  of the script it has more of (``scripts.toml``), and sized by that script's flat letters. Only a face without letters
  of any script is a symbol font.
- *Accented letters take stroke, slit and counter from their base letter*; their gaps and loose parts are their own.
- *HarfBuzz refuses every face of a collection in which one is broken*; a sound face is opened again with a header of
  its own.
- *A path that is not UTF-8, or longer than the system takes, gets a row that says so*: it cannot stand in JSON, CSV or
  a page, or cannot be opened, and nothing is dropped in silence.
"""
