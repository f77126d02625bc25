"""What an object works out of itself the first time it is asked, and keeps.

:func:`functools.cached_property` takes a lock at each first asking up to Python 3.11. A case looked at on a
thousand dates asks for the first time tens of thousands of times; its history belongs to one thread.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Generic, Self, TypeVar, overload

T = TypeVar("T")


class Lazy(Generic[T]):
    """A method without arguments as an attribute, worked out once an object."""

    def __init__(self, work_out: Callable[[Any], T]) -> None:
        self._work_out = work_out
        self._name = work_out.__name__
        self.__doc__ = work_out.__doc__

    @overload
    def __get__(self, instance: None, owner: type) -> Self: ...

    @overload
    def __get__(self, instance: object, owner: type) -> T: ...

    def __get__(self, instance: object | None, owner: type) -> Self | T:
        if instance is None:
            return self
        found = instance.__dict__[self._name] = self._work_out(instance)
        return found
