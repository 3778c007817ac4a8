"""Styles people browse: groups, traits and neighbours of faces.

In: the style vectors that the scan measured (``scanner/measures/style.py``). Out: of each face one group, any number
of traits with their probability, and the faces most like it with the reasons. Imports ``scanner``, the leaves of
``catalogue`` and ``catalogue.store``; only ``grouping.py`` reads or writes a catalogue.

Files: ``words.py`` names groups and traits; ``labels.csv`` holds what was seen twice in 1,144 faces; ``model.py``
reads ``style_model.json``, which ``bench/style_model.py`` makes from them; ``groups.py`` decides; ``neighbours.py`` and
``likeness.py`` find and explain what is alike.

Decisions (2026-11):

- Supervised, not clustered. Clusters of measures drew lines that nobody saw, and all-capital, casual and outline faces
  had no place. Makers of this project labelled 1,144 faces twice from drawn sheets without names or numbers
  (86 % alike, kappa 0.84; disputes are kept and marked), and the model learns from both.
- Frozen and alone. A face's group is a function of its own vector: no scan, sibling or refit moves it. So a catalogue
  is not fitted to its own fonts any more, and a family's faces may sit in different groups (a black face is heavy).
- Styles first, degrees second. Discriminant analysis separates kinds of drawing; weight, width and thickness of serifs
  are degrees and are read by small logistic models of their own numbers, which hold with few examples.
- What is not sure is said so. A group below the bound names the two that it lies between; a fitted trait is shown only
  from where at least 95 % of what it says was true on families outside training. On 96 faces of packages that gave no
  label, 91 % of the groups were true where two could be meant (79 % by the first choice of the eye), and
  68 of the 69 that were called sure.
- Capitals are judged by capitals. A face without small letters is measured with its capitals in their place.
- The model is plain numbers in JSON; numpy evaluates it. scikit-learn is needed to make it, never to read it.
"""
