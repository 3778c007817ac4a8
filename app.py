"""The page for a checkout: `streamlit run app.py` serves it, with the settings of `.streamlit/config.toml`.

`letterhold page` serves the same without a checkout; its script travels in the package, `catalogue/page/app.py`.
"""

import streamlit as st

from catalogue.page.server import SCRIPT, application_parts

app = st.App(SCRIPT, **application_parts())
