"""The entry point: it imports the one subcommand that is asked for, so that each starts fast."""

import importlib
import os
import sys
import warnings
from typing import Annotated, cast

import typer

from optitip import __version__
from optitip.cli.answers import ExitCode, answering, complaints, show_mistakes
from optitip.errors import Mistake

# the systems here are narrow bands: more threads only get into each other's way (8 times the CPU, measured)
_THREADS = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")
# what 'optitip --help' says of each, so that it need not import them
COMMANDS = {
    "new": "Write a commented starter study into a new folder.",
    "check": "Say how much heat the study's own design brings into its sample, and how sure that is.",
    "heating": "Write film and recovery temperature along the surface in time as tables and pictures.",
    "sweep": "Search the free numbers and choices for the best trades; the same command again goes on.",
    "front": "Show the front of a run, finished or under way; filter it, and choose a design by a rule.",
    "neighbours": "Run the neighbours of a front's designs, every length a little off: which of them hold.",
    "watch": "Watch a sweep from beside it: how far, how fast, what failed, how the front grows.",
    "flights": "Say which flights reach the target: a map over Mach number or motor, burn, slab and joint.",
    "export": "Write what a shop needs of a design: drawings, lathe cards, DXF, STEP, tables, its answer.",
    "log": "Say what each column of a recorder's file was taken for, and give a study's lines for it.",
    "materials": "List the materials, or show one with the source of each property.",
}


# every error of a command line is one of these; typer has no public name for it
USAGE_ERROR: type[Exception] = typer.BadParameter.__mro__[1]


def build_app(arguments: list[str]) -> typer.Typer:
    """Return the command line with the subcommand the arguments name; the others know their help alone."""
    app = typer.Typer(add_completion=False, no_args_is_help=True, pretty_exceptions_enable=False)
    app.callback()(_about)
    named = next((argument for argument in arguments if not argument.startswith("-")), None)
    for name, said in COMMANDS.items():
        if name == named:
            module = importlib.import_module(f"optitip.cli.{name}")
            app.command(name)(answering(module.command))
        else:
            app.command(name, help=said)(_not_named)
    return app


def main() -> None:
    """Run the command line and end the process with its exit code."""
    for name in _THREADS:
        os.environ.setdefault(name, "1")
    # a title's letters that the drawings' font lacks are boxes there, which one line tells
    warnings.filterwarnings("ignore", message=r"Glyph \d+ .* missing from font")
    sys.exit(run(sys.argv[1:]))


def run(arguments: list[str]) -> int:
    """Run the command line and return its exit code; a wrong command line is a mistake like any other."""
    try:
        app = build_app(arguments)
        return int(app(arguments, prog_name="optitip", standalone_mode=False) or ExitCode.ANSWER)
    except USAGE_ERROR as error:
        # without arguments the help was the answer, and the error is silent
        if said := cast(typer.BadParameter, error).format_message():
            show_mistakes(_usage_mistake(error, said, arguments))
        return ExitCode.MISTAKE
    except KeyboardInterrupt:  # while what the command needs is imported
        complaints().print("stopped")
        return ExitCode.STOPPED


def _usage_mistake(error: Exception, said: str, arguments: list[str]) -> Mistake:
    """Return the line for a command line that can't be understood."""
    command = next((one for one in arguments if one in COMMANDS), "")
    whole = f"optitip {command}".rstrip()
    options = getattr(getattr(error, "param", None), "opts", None) or [""]
    place = f"{whole} {options[0]}" if options[0].startswith("-") else whole
    if place != whole:
        said = said.removeprefix(f"Invalid value for '{options[0]}': ").removeprefix("Value error, ")
    problem, _, remedy = said.rstrip(".?").partition(". ")
    problem = problem[:1].lower() + problem[1:].removeprefix("input ")
    return Mistake(place, problem, remedy or f"'{whole} --help' tells what it takes")


def _not_named() -> None:
    """Stand for a command that isn't asked for."""


def _say_version(asked: bool) -> None:
    if asked:
        typer.echo(f"optitip {__version__}")
        raise typer.Exit(ExitCode.ANSWER)


def _about(
    version: Annotated[
        bool, typer.Option("--version", callback=_say_version, is_eager=True, help="Show the version.")
    ] = False,
) -> None:
    """How much of a flight's own heat a nose tip brings into an enclosed sample, and which tip brings more.

    Start with 'optitip new NAME', then 'optitip check NAME'.
    """
