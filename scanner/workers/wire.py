"""Messages between the supervisor and a worker: a length of eight bytes, then a pickled object."""

from __future__ import annotations

import pickle
import struct
from collections.abc import Callable
from typing import Any

_SIZE = struct.Struct(">Q")


def packed(message: object) -> bytes:
    """A message as it goes over the link."""
    load = pickle.dumps(message)
    return _SIZE.pack(len(load)) + load


def received(read: Callable[[int], bytes]) -> Any | None:
    """The next message from a reader that waits until it has all the bytes asked for; None where the link has ended."""
    head = read(_SIZE.size)
    if len(head) < _SIZE.size:
        return None
    (size,) = _SIZE.unpack(head)
    load = read(size)
    return pickle.loads(load) if len(load) == size else None


class Inbox:
    """Bytes as they come, out of which whole messages are taken.

    >>> inbox = Inbox()
    >>> both = packed("one") + packed("two")
    >>> inbox.add(both[:-1]), inbox.add(both[-1:])
    (['one'], ['two'])
    """

    def __init__(self) -> None:
        self._bytes = bytearray()

    def add(self, piece: bytes) -> list[Any]:
        """The messages that are whole with this piece."""
        self._bytes += piece
        messages = []
        while len(self._bytes) >= _SIZE.size:
            end = _SIZE.size + _SIZE.unpack_from(self._bytes)[0]
            if len(self._bytes) < end:
                break
            messages.append(pickle.loads(bytes(self._bytes[_SIZE.size : end])))
            del self._bytes[:end]
        return messages
