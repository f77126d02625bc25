"""Options before and after a command: each counts for what is run, or is refused. None is left unread."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, MutableMapping
from importlib import import_module
from typing import Any, cast

import click
from click.core import ParameterSource

ROOM = "armrise.tui.command"


class Helped(click.Command):
    """A command, or a group of them, that one letter asks for help."""

    def __init__(self, *given: Any, **named: Any) -> None:
        super().__init__(*given, **named)
        self.context_settings.setdefault("help_option_names", ["-h", "--help"])


class Command(Helped):
    """A command that takes over the options given before it, and refuses those it does not know."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """As click does, then with the options of every group on the way here."""
        refuse_repeated(self, ctx, args)
        rest = super().parse_args(ctx, args)
        refuse_no_text(self, ctx)
        take_over(self, ctx)
        return rest


class Commands(MutableMapping[str, click.Command]):
    """The commands of a group by their names, each imported when it is first asked for."""

    def __init__(self, places: Mapping[str, str]) -> None:
        self._places = dict(places)
        """Of each its module in this room and its name there, "module:name"."""
        self._there: dict[str, click.Command] = {}

    def __getitem__(self, name: str) -> click.Command:
        if name not in self._there:
            module, _, attribute = self._places[name].partition(":")
            self._there[name] = getattr(import_module(f"{ROOM}.{module}"), attribute)
        return self._there[name]

    def __setitem__(self, name: str, command: click.Command) -> None:
        self._there[name] = command
        self._places.setdefault(name, "")

    def __delitem__(self, name: str) -> None:
        del self._places[name]
        self._there.pop(name, None)

    def __iter__(self) -> Iterator[str]:
        return iter(self._places)

    def __len__(self) -> int:
        return len(self._places)


class Group(Helped, click.Group):
    """A group whose commands are each a :class:`Command`; the one that is run decides about its options."""

    command_class = Command
    group_class = type

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """As click does, with its own word for an option that belongs to one of the commands."""
        try:
            refuse_repeated(self, ctx, args)
            return super().parse_args(ctx, args)
        except click.NoSuchOption as fault:
            flag = fault.option_name
            if not any(flag in own.opts for command in self.commands.values() for own in command.params):
                raise
            said = f"{flag} belongs after the command: {ctx.command_path} COMMAND {flag}"
            raise click.UsageError(said, ctx) from None


def refuse_repeated(command: click.Command, ctx: click.Context, args: list[str]) -> None:
    """Raise a usage fault for an option with a value that is given twice: click reads the last alone."""
    _, _, order = command.make_parser(ctx).parse_args(list(args))
    for option in order:
        once = isinstance(option, click.Option) and not option.is_flag and not option.multiple
        if once and order.count(option) > 1:
            raise click.UsageError(f"{option.opts[0]} is given twice: give it once", ctx)


def refuse_no_text(command: click.Command, ctx: click.Context) -> None:
    """Raise a usage fault for words whose bytes are no text; a file may have such a name."""
    for option in command.params:
        value: object = ctx.params.get(option.name or "")
        words = cast("tuple[object, ...]", value) if isinstance(value, tuple) else (value,)
        for word in words:
            if isinstance(word, str) and not word.isascii() and _not_text(word):
                named = option.opts[0] if isinstance(option, click.Option) else option.human_readable_name
                raise click.UsageError(f"{named} is {word!r}, whose bytes are no text (UTF-8)", ctx)


def _not_text(word: str) -> bool:
    return any("\ud800" <= sign <= "\udfff" for sign in word)


def take_over(command: click.Command, ctx: click.Context) -> None:
    """Set what was given before the command as if it stood after it. Raises a usage fault."""
    for flag, value in given_before(ctx):
        name = next((own.name for own in command.params if flag in own.opts), None)
        if name is None:
            raise click.UsageError(f"{flag} does not count for {ctx.command_path}: leave it out", ctx)
        if _was_typed(ctx, name) and ctx.params[name] != value:
            both = f"{value} and {ctx.params[name]}"
            raise click.UsageError(f"{flag} is given twice, {both}: give one of them", ctx)
        ctx.params[name] = value
        ctx.set_parameter_source(name, ParameterSource.COMMANDLINE)


def given_before(ctx: click.Context) -> Iterator[tuple[str, Any]]:
    """The options typed before this command, on whichever group, with their values."""
    group = ctx.parent
    while group is not None:
        for option in group.command.params:
            if option.name in group.params and _was_typed(group, option.name):
                yield option.opts[0], group.params[option.name]
        group = group.parent


def _was_typed(ctx: click.Context, name: str) -> bool:
    return ctx.get_parameter_source(name) is ParameterSource.COMMANDLINE
