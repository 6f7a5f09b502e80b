"""The commands. Everything the guided inquiry can do is also a command of its own, for scripts and phones.

Results go to standard output, messages to standard error. Exit codes: 0 found or done, 1 failure, 2 wrong usage,
3 ended without a cause, 4 a record or pack has problems, 5 saved and paused, 130 interrupted and saved.
"""

import io
import os
import sys
from collections.abc import Sequence
from importlib import import_module

import click

from troubleshoot import __version__

COMMANDS = {
    "start": "guided",
    "resume": "guided",
    "find": "guided",
    "open": "stepwise",
    "next": "stepwise",
    "answer": "events",
    "ranking": "stepwise",
    "why": "stepwise",
    "card": "stepwise",
    "set-up": "events",
    "mend": "events",
    "proof": "events",
    "follow": "events",
    "back": "events",
    "note": "events",
    "close": "events",
    "cases": "shelf",
    "show": "shelf",
    "learned": "learned",
    "report": "report",
    "work-list": "report",
    "round": "rounds",
    "rules": "packs",
    "layout": "layouts",
    "practice": "practice",
    "locate": "locate",
    "log": "log",
}


class Commands(click.Group):
    """Commands that are loaded only when they are called, so that help and version stay quick."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """All names, in the order of use."""
        del ctx
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of a name; a near miss is named."""
        if cmd_name not in COMMANDS:
            import difflib

            close = difflib.get_close_matches(cmd_name, COMMANDS, n=1)
            ctx.fail(f"No such command {cmd_name!r}." + (f" Did you mean {close[0]!r}?" if close else ""))
        module = import_module(f"troubleshoot.cli.{COMMANDS[cmd_name]}")
        command: click.Command = getattr(module, cmd_name.replace("-", "_") + "_command")
        return command


@click.group(cls=Commands, invoke_without_command=True)
@click.version_option(__version__, prog_name="troubleshoot")
@click.pass_context
def group(ctx: click.Context) -> None:
    """Find the fault in the electrics of a digitally controlled model railway, step by step at the layout.

    Without a command, a guided inquiry begins on the bundled demo railway.
    """
    if ctx.invoked_subcommand is None:
        from troubleshoot.cli.guided import start_command

        ctx.invoke(start_command, layout="club")


def main(arguments: Sequence[str] | None = None) -> None:
    """Run a command and leave with its exit code. Bad input never shows a traceback."""
    from troubleshoot.documents import Problems

    _never_choke(sys.stdout)
    _never_choke(sys.stderr)
    try:
        code = group.main(arguments, prog_name="troubleshoot", standalone_mode=False)
        sys.exit(code if isinstance(code, int) else 0)
    except click.ClickException as error:
        error.show()
        sys.exit(error.exit_code)
    except click.Abort:
        sys.exit(130)
    except Problems as found:
        for problem in found.problems:
            click.echo(str(problem), err=True)
        sys.exit(_code(found))
    except KeyboardInterrupt:
        click.echo("\nInterrupted. Every answer given so far is saved; see: troubleshoot cases", err=True)
        sys.exit(130)
    except BrokenPipeError:
        # whoever read the output has gone; closing it again at exit must not complain
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(1)


def _code(found: Exception) -> int:
    """1 where a case could not be saved, which is no fault of any file; 4 where a file has problems."""
    from troubleshoot.casebook import NotSaved
    from troubleshoot.documents import Problems

    if isinstance(found, NotSaved):
        return 1
    count = len(found.problems) if isinstance(found, Problems) else 1
    click.echo(f"{count} problem{'' if count == 1 else 's'}.", err=True)
    return 4


def _never_choke(stream: object) -> None:
    """A terminal that cannot show a sign gets a question mark instead of a crash."""
    if isinstance(stream, io.TextIOWrapper):
        stream.reconfigure(errors="replace")


__all__ = ["group", "main"]
