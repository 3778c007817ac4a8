"""What goes wrong in a view becomes one line on the page; the other views go on.

A person's mistake is said as it is. A fault of the program is reported as one, with its details to copy and a file
that keeps them.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import streamlit as st
from streamlit.errors import FragmentHandledException

from catalogue.errors import LetterholdError
from catalogue.faults import details, keep_details
from catalogue.page.parts import fault_box

FAULT = "This is a fault in letterhold, not in what you did; the other views go on."
MOST_CHARACTERS = 20_000
"""Of details to copy."""


@contextmanager
def one_line() -> Iterator[None]:
    """Whatever goes wrong inside becomes a line on the page.

    Every view stands in one; a fragment needs its own, since Streamlit shows what it raises before a view can catch it.
    """
    try:
        yield
    except LetterholdError as error:
        st.warning(sentence(error))
    except OSError as error:
        what = (error.strerror or "cannot be read").lower()
        st.warning(f"{error.filename or 'A file'}: {what}; check it and reload the page.")
    except FragmentHandledException:
        pass  # shown inside the fragment
    except Exception as error:
        kept = keep_details(error)
        fault_box(f"{FAULT} Details are in {kept}.", details(error)[-MOST_CHARACTERS:])


def sentence(error: object) -> str:
    """An error's line as a sentence.

    >>> sentence("no face 3 in this catalogue; choose one")
    'No face 3 in this catalogue; choose one.'
    >>> sentence("s3://fonts: cannot be read; check the address")
    's3://fonts: cannot be read; check the address.'
    """
    text = str(error).rstrip(".")
    word = text.split(" ", 1)[0]
    return f"{text[:1].upper() if word.isalpha() else text[:1]}{text[1:]}."
