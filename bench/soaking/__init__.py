"""The parts of ``bench/soak.py``: names, faces, one command in a child, what counts as a fault, tasks, report.

``names`` and ``mistakes`` are data. ``child`` runs one command line and keeps all it did. ``world`` lists the faces of
the catalogue and, by shaping of its own, which of them cover which name. ``judge`` and ``made`` say what is wrong with
an outcome. ``steps`` and ``wide`` are the tasks; ``journal`` keeps their results, so that a stopped run goes on.
``odd_fonts`` and ``awkward`` are the fonts of the short run. Nothing here imports the product but ``child``.
"""
