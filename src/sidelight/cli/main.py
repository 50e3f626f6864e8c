"""The command: a table of words, each loaded only when it is called, and one way to refuse."""

import errno
import os
import sys
import traceback
from contextlib import suppress
from importlib import import_module
from typing import NoReturn

import click

from sidelight import __version__
from sidelight.cli.plain_text import plain_streams
from sidelight.ground.errors import BadInput, SidelightError, did_you_mean

COMMANDS = {
    "demo": "Make an example notebook, run the whole job on it, say what to open.",
    "init": "Make a new notebook with commented files.",
    "season": "When in the year each object gives usable dark hours.",
    "light": "What an hour is worth tonight and through the month.",
    "exposure": "How long to expose, how often, and what that reaches.",
    "setup": "One camera angle and one guider angle that serve all objects.",
    "bench": "The set-up as angles on the metal, step by step.",
    "night": "Tonight's run: what, when, the flip, the guide stars.",
    "campaign": "The coming months: which hours go where, the odds, last calls.",
    "suggest": "What else fits the set-up as it stands, or a fresh start.",
    "serve": "All of it as a local page in the browser.",
    "ledger": "Frames and hours collected, and what is missing.",
    "check": "What solved images say about the angles: turn it, or leave it?",
    "stars": "Deeper guide stars: show, fetch, import.",
    "doctor": "Versions, data, this computer, the notebook: what is odd.",
}
"""Every command, in the order of the work, with the line that stands beside it in the help."""


class LazyGroup(click.Group):
    """Commands that are imported when they are called, so that the command starts at once."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - click's signature
        """Return the commands in the order of the work."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        """Import the command's module and return its command."""
        if cmd_name not in COMMANDS:
            return None
        command = import_module(f"sidelight.cli.{cmd_name}").command
        assert isinstance(command, click.Command)
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command, or say which one may be meant."""
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            near = did_you_mean(args[0], list(COMMANDS)) or 'See "sidelight --help" for all of them.'
            ctx.fail(f'There is no command "{args[0]}". {near}')
        return super().resolve_command(ctx, args)

    def invoke(self, ctx: click.Context) -> object:
        """Run the command; when the person stops it, say how things stand."""
        try:
            return super().invoke(ctx)
        except (KeyboardInterrupt, EOFError, click.Abort):
            click.echo("\nStopped. What was finished before is kept; nothing is left half-written.", err=True)
            ctx.exit(1)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        """Write the list of commands from the table, importing none of them."""
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.group(cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, package_name="sidelight", message="sidelight %(version)s")
def sidelight() -> None:
    """Plan a deep-sky imaging season: season, set-up, bench, night, ledger.

    Start with "sidelight demo" to see the whole job, or "sidelight init FOLDER" for a notebook of your own. NOTEBOOK
    is always the folder that "init" or "demo" made; where it is not given, the one you stand in.
    """


DISK_SAYS_NO = (
    errno.ENOSPC,
    errno.EDQUOT,
    errno.EFBIG,
    errno.EROFS,
    errno.EACCES,
    errno.EPERM,
    errno.EIO,
    errno.EPIPE,
)
"""A full disk, a folder that may not be written, a reader that went away: no mistake of the program's."""


NAME_SAYS_NO = (errno.ENAMETOOLONG, errno.ELOOP, errno.ENOTDIR, errno.EISDIR, errno.EINVAL)
"""A name that this system cannot have, or that is of another kind than what was asked for."""


def _disk_refused(error: OSError) -> NoReturn:
    """Say it in the disk's words and end with 2; what could not be written is not tried again on the way out."""
    place = f"{error.filename}: " if error.filename else ""
    advice = "Name something else." if error.errno in NAME_SAYS_NO else "Look at the disk, then repeat."
    with suppress(OSError):
        click.echo(f"sidelight: {place}{error.strerror or error}. {advice}", err=True)
        sys.stderr.flush()
    os._exit(2)


def main() -> None:
    """Run the command line; every refusal goes to standard error with its exit code."""
    plain_streams()
    try:
        sidelight(prog_name="sidelight")
    except SidelightError as refusal:
        for problem in refusal.problems:
            click.echo(f"sidelight: {problem}", err=True)
        if len(refusal.problems) > 1 and isinstance(refusal, BadInput):
            click.echo(f"sidelight: {len(refusal.problems)} things to mend; nothing was written.", err=True)
        sys.exit(refusal.exit_code)
    except Exception as error:  # noqa: BLE001 - whatever it is, the person gets a sentence and the right exit code
        if isinstance(error, OSError) and error.errno in DISK_SAYS_NO + NAME_SAYS_NO:
            _disk_refused(error)
        # a bug is ours: show where it is for the report, and say so in plain words
        traceback.print_exc()
        click.echo(
            "sidelight: this is a mistake of the program's, not yours; nothing of yours was changed.", err=True
        )
        sys.exit(3)
