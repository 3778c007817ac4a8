"""The stored table of a face, an array or two a file: what a ranking of any name needs.

In comes a face whose alphabet is drawn (``drawn.Drawn``: shaped, as regions, each once), out come arrays in em in the
order of ``alphabet``; ``table.table_of`` puts them together. May import measures, lettering, shaping and records; knows
no disk, no millimetre and no name.
"""
