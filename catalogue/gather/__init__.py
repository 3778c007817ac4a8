"""From fonts to a catalogue: paths in, measured and judged rows out.

``scan`` reads what is new or changed into a catalogue or into partitions, ``partitions`` writes and merges those,
``health`` looks at a catalogue and mends it, ``engines`` has a second engine draw its faces. May import the scanner,
the licences, the store and the style groups.

Decisions
---------
2026-11, unchanged means: same size, time and settings. The settings hold the versions of the measures and of the
licence rules, so new rules measure again without being asked. A moved file is known by its digest and keeps its
measures.

2026-11, one lock a catalogue: two scans at once would measure everything twice; readers are not kept out.

2026-11, mending builds a new file: ``health --repair`` copies every file whose rows pass their checksums into a new
catalogue and keeps the old one under another name. What was lost is measured again by the next scan; no font is
touched.
"""
