"""Results that are kept for a while: the last few values by key, for several threads at once."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from typing import Any, TypeVar

Value = TypeVar("Value")


class Last:
    """The last few values by key; the one that was not asked for the longest goes first.

    >>> squares = Last(2)
    >>> [squares.get(n, lambda: n * n) for n in (2, 3, 2)]
    [4, 9, 4]
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._values: OrderedDict[Any, Any] = OrderedDict()
        self._lock = threading.Lock()

    def get(self, key: Any, make: Callable[[], Value]) -> Value:
        """The value under a key, made when it is not there."""
        with self._lock:
            if key in self._values:
                self._values.move_to_end(key)
                found: Value = self._values[key]
                return found
        value = make()
        with self._lock:
            self._values[key] = value
            while len(self._values) > self._most:
                self._values.popitem(last=False)
        return value

    def find(self, key: Any) -> Any:
        """The value under a key, None when it is not there."""
        with self._lock:
            return self._values.get(key)

    def clear(self) -> None:
        """Forget all."""
        with self._lock:
            self._values.clear()
