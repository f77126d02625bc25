"""The handlers of a message looked for once a class, where Textual looks for them at every message.

Which methods of a class answer a message follows from the class and from the kind of message, unless one asks
which widget sent it: those are looked for anew. A class that a test gives another handler must not have been
sent that message before. How many parameters a function has is read off it, where Textual works out its
signature for every callback that is made on the spot. Whether an attribute of a widget is computed follows
from the class too, and Textual asks it at every reading.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterator
from typing import Any

from textual import _callback
from textual.message import Message
from textual.message_pump import MessagePump
from textual.reactive import Reactive

Handlers = tuple[tuple[type, tuple[Any, ...]], ...]

look_for = MessagePump._get_dispatch_methods
count = _callback._count_parameters
FOUND: dict[tuple[type, str, type], Handlers | None] = {}
read = Reactive.__get__
COMPUTED: dict[tuple[type, str], bool] = {}
"""Whether a class works an attribute out, by the name of what does."""
MORE = inspect.CO_VARARGS, inspect.CO_VARKEYWORDS


def _handlers(of: type, name: str, kind: type) -> Handlers | None:
    """The methods that answer, class by class; None where one asks which widget sent the message."""
    kinds = [one for one in kind.__mro__ if issubclass(one, Message)]
    found: list[tuple[type, tuple[Any, ...]]] = []
    decorated: list[Any] = []
    for cls in of.__mro__:
        named = cls.__dict__.get("_decorated_handlers") or {}
        here: list[Any] = []
        for method, selectors in (one for each in kinds for one in named.get(each, ())):
            if selectors:
                return None
            if method not in decorated:
                here.append(method)
                decorated.append(method)
        method = cls.__dict__.get(f"_{name}") or cls.__dict__.get(name)
        if method is not None and not getattr(method, "_textual_on", None):
            here.append(method)
        found += [(cls, tuple(here))] if here else []
    return tuple(found)


def dispatch_methods(
    pump: MessagePump, method_name: str, message: Message
) -> Iterator[tuple[type, Callable[..., Any]]]:
    """As Textual, from the class itself to its oldest ancestor, until a handler prevents what follows."""
    key = (type(pump), method_name, type(message))
    if key not in FOUND:
        FOUND[key] = _handlers(*key)
    found = FOUND[key]
    if found is None:
        yield from look_for(pump, method_name, message)
        return
    for cls, methods in found:
        if message._no_default_action:
            break
        for method in methods:
            yield cls, method.__get__(pump, cls)


def count_parameters(func: Callable[..., Any]) -> int:
    """How many parameters a function or a bound method has."""
    plain = getattr(func, "__func__", func)
    code = getattr(plain, "__code__", None)
    if code is None or hasattr(plain, "__wrapped__") or hasattr(plain, "__signature__"):
        return count(func)
    more = sum(bool(code.co_flags & flag) for flag in MORE)
    return code.co_argcount + code.co_kwonlyargcount + more - (plain is not func)


def value(attribute: Reactive[Any], obj: Any, of: type) -> Any:
    """The value of an attribute, as Textual finds it where it is new or worked out."""
    if obj is not None and (name := attribute.internal_name) in (held := obj.__dict__):
        key = type(obj), attribute.compute_name
        if key not in COMPUTED:
            COMPUTED[key] = hasattr(obj, attribute.compute_name)
        if not COMPUTED[key]:
            return held[name]
    return read(attribute, obj, of)


def look_once() -> None:
    """Let every widget of this process find its handlers so."""
    MessagePump._get_dispatch_methods = dispatch_methods  # type: ignore[method-assign,assignment]
    _callback._count_parameters = count_parameters
    Reactive.__get__ = value  # type: ignore[method-assign,assignment]
