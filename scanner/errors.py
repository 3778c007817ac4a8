"""The one base of errors that are a person's to mend: a wrong value, an unreadable file, a letter a face lacks.

Whatever else is raised (a library's ``ValueError`` too) is a fault of the program and is reported as one.
"""

from __future__ import annotations


class LetterholdError(ValueError):
    """Its message is one line that names the file, face, letter or option and ends with what to do."""
