"""What every subcommand shares: exit codes, the consoles, and how mistakes are shown."""

import functools
from collections.abc import Callable
from enum import IntEnum
from typing import ParamSpec

import typer
from rich.console import Console
from rich.markup import escape

from optitip.errors import DesignFailure, Mistake, OutOfRange, Stopped, UserMistakes

P = ParamSpec("P")
NO_TRANSITION = "No picture of the transition: the heating table has no Reynolds numbers."


class ExitCode(IntEnum):
    """What a command's exit code says; a broken limit is content, not a failure."""

    ANSWER = 0
    MISTAKE = 2
    OUT_OF_RANGE = 3
    STOPPED = 130


def console() -> Console:
    """Return the console for answers."""
    return Console(highlight=False)


def complaints() -> Console:
    """Return the console for mistakes and progress."""
    return Console(stderr=True, highlight=False, soft_wrap=True)


def show_mistakes(*mistakes: Mistake) -> None:
    """Print one line for each mistake."""
    for mistake in mistakes:
        complaints().print(escape(str(mistake)))


def answering(command: Callable[P, None]) -> Callable[P, None]:
    """Return the command with the package's exceptions turned into lines and exit codes."""

    @functools.wraps(command)
    def run(*args: P.args, **kwargs: P.kwargs) -> None:
        try:
            command(*args, **kwargs)
        except UserMistakes as error:
            show_mistakes(*error.mistakes)
            raise typer.Exit(ExitCode.MISTAKE) from None
        except DesignFailure as error:
            show_mistakes(error.mistake)
            raise typer.Exit(ExitCode.MISTAKE) from None
        except OutOfRange as error:
            show_mistakes(error.mistake)
            raise typer.Exit(ExitCode.OUT_OF_RANGE) from None
        except Stopped as stopped:
            complaints().print(escape(str(stopped)))
            raise typer.Exit(ExitCode.STOPPED) from None
        except KeyboardInterrupt:
            complaints().print("stopped")
            raise typer.Exit(ExitCode.STOPPED) from None

    return run
