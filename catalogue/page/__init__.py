"""The page: `letterhold page` serves it on this machine, Streamlit draws it.

``server`` starts the server with two routes of our own (more lines of the ledger; one line measured in full), ``app``
is the script with the navigation, ``views`` holds one view a file. ``shelf`` alone knows the catalogue and the ranking;
``rows``, ``drawing`` and ``markup`` are pure. What the browser draws by itself (the ledger and the sheets) are two
components whose CSS and JavaScript lie in ``assets``.
"""
