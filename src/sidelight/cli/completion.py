"""What the shell offers on the tab key besides commands and options: the notebook's own names."""

import os
from collections.abc import Callable
from pathlib import Path

import click
from click.shell_completion import CompletionItem


def _offered(names: Callable[[Path], tuple[str, ...]], ctx: click.Context, begun: str) -> list[CompletionItem]:
    """Return the names that begin so, capitals or not; bash gets those with a blank in quotes."""
    # while an option still lacks its value the words before it are not sorted into arguments yet
    folders = [Path(word) for word in (*ctx.args, ctx.params.get("notebook") or ".")]
    known = next((found for folder in folders if (found := names(folder))), ())
    begun = begun.lstrip("\"'").casefold()
    quote = '"' if os.environ.get("_SIDELIGHT_COMPLETE", "").startswith("bash") else ""
    return [
        CompletionItem(f"{quote}{name}{quote}" if " " in name else name)
        for name in known
        if name.casefold().startswith(begun)
    ]


def complete_target(ctx: click.Context, _param: click.Parameter, begun: str) -> list[CompletionItem]:
    """Offer the targets of the notebook."""
    from sidelight.desk.names import target_names

    return _offered(target_names, ctx, begun)


def complete_setup(ctx: click.Context, _param: click.Parameter, begun: str) -> list[CompletionItem]:
    """Offer the kept set-ups of the notebook."""
    from sidelight.desk.names import setup_names

    return _offered(setup_names, ctx, begun)
