"""Jobs that wait for a worker: in their order, but files of one name one after the other in the same worker.

Such files (a.ttf, a.woff2, a.ttf of another package) are mostly one design, which a process measures once.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterable
from pathlib import PurePath

from scanner.files import FontFile
from scanner.workers.job import Job


def plain_name(file: FontFile) -> str:
    """A file's name without its ending, whatever the case."""
    return PurePath(file.name).stem.casefold()


class Waiting:
    """What no worker has yet."""

    def __init__(self, files: Iterable[FontFile]) -> None:
        self._left = OrderedDict(enumerate(map(Job, files)))
        self._named: dict[str, list[int]] = {}
        for number, job in reversed(self._left.items()):
            self._named.setdefault(plain_name(job.file), []).append(number)

    def __len__(self) -> int:
        return len(self._left)

    def take(self, after: str = "") -> Job:
        """The next job for a worker whose last file had the plain name ``after``. Raises KeyError when none is left."""
        same = self._named.get(after, [])
        while same:
            job = self._left.pop(same.pop(), None)
            if job is not None:
                return job
        return self._left.popitem(last=False)[1]
