"""Commands by name, and the answer where there is none of that name."""

from __future__ import annotations

import click

from hingeline.errors import UsageProblem


class Group(click.Group):
    """Commands of which a mistyped one is answered in one line, with the nearest."""

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if not ctx.resilient_parsing and not args[0].startswith("-") and self.get_command(ctx, args[0]) is None:
            from difflib import get_close_matches

            near = " or ".join(get_close_matches(args[0], self.list_commands(ctx)))
            cure = near or f"one that `{ctx.command_path} --help` lists"
            raise NoCommand(f"There is no command {args[0]!r}. Try {cure}.")
        return super().resolve_command(ctx, args)


class NoCommand(click.ClickException):
    """There is no such command: told in one line, without the usage of the program."""

    exit_code = UsageProblem.exit_status
