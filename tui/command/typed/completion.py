"""``armrise completion``: what a shell needs to complete commands, options and the codes of cases."""

from __future__ import annotations

import click

from armrise.tui.command.main import COMPLETING
from armrise.tui.command.options import Command
from armrise.tui.command.printing import say

SHELLS = ("bash", "zsh", "fish")


@click.command(cls=Command)
@click.argument("shell", type=click.Choice(SHELLS), metavar="SHELL")
@click.pass_context
def completion(ctx: click.Context, shell: str) -> None:
    """Print what SHELL (bash, zsh or fish) needs to complete commands, options and codes.

    \b
    bash:  eval "$(armrise completion bash)"  in ~/.bashrc
    zsh:   eval "$(armrise completion zsh)"  in ~/.zshrc
    fish:  armrise completion fish > ~/.config/fish/completions/armrise.fish

    Codes are those of the store that the command would read; one that asks for a passphrase gives none.
    """
    from click.shell_completion import get_completion_class

    made = get_completion_class(shell)
    assert made is not None, "each of them is one that click knows"
    say(made(ctx.find_root().command, {}, "armrise", COMPLETING).source())
