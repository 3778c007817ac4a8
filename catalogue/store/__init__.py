"""The catalogue on disk: measured fonts in, faces and arrays of their measures out.

``reading`` and ``database`` read and write, ``schema`` holds the tables, ``connection`` opens the file, ``salvage``
reads what is left of a damaged one: these five alone know SQL. ``rows`` turns a scanner's record into rows, ``face`` is
one row as the other rooms see it, ``columns`` holds the measures of all faces as mapped arrays, ``font_cache`` gives a
face's font as a file of this machine, ``lock`` keeps a second scan out, ``rules`` says by which version something was
measured. May import the scanner, the leaves of ``catalogue`` and the version of the licence rules.

Decisions
---------
2026-11, SQLite with one writer: readers, such as the page, go on while a scan writes (write-ahead log); a stop at any
moment loses no finished file.

2026-11, a checksum for every row and blob: SQLite finds a damaged page only where its structure breaks. A flipped bit
in a number would be believed, so every reading compares a CRC-32 that was stored with the values (the columns file has
one for each of its rows), and the number of faces is stored as well. That finds damage, not forgery.

2026-11, a derived columns file: a ranking asks all faces for a few letters. The file holds one row a letter or pair, is
made again when the catalogue's number of changes differs or a checksum fails, and may be deleted at any time.

2026-11, a font is opened only as it was scanned: size and time of the file are compared with the scan, and its digest
where they differ. Another drawing under an old name and verdict would be cut and sold.
"""
