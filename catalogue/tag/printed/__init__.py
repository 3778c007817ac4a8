"""What became of prints: kept in a file next to the catalogue, and what it says about hold.

``outcome`` is one print with the facts of its job sheet, ``kept`` the file, ``jobs`` finds a tag's job sheet,
``report`` counts how often each level of hold held.

Decisions, 2026-11:

- A file of its own, a JSON object a line, named after the catalogue. A table in the catalogue would need another
  schema, and every older catalogue a scan; a mended catalogue is built again from font files and would lose it. A line
  is appended in one write; one that is damaged loses one print and is counted.
- Outcomes belong to prints, not to rows: they name the face in words and keep the numbers that were judged, so that a
  scan, another version or a profile that is edited later changes none of them.
- No outcome changes hold. The report says when the weights look wrong; to change them takes more than one shop.
"""
