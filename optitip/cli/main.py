"""The entry point: it imports the one subcommand that is asked for, so that each starts fast."""

import importlib
import os
import sys

import typer

from optitip.cli.answers import answering

# the systems here are narrow bands: more threads only get into each other's way (8 times the CPU, measured)
_THREADS = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")
COMMANDS = ("new", "check", "sweep", "export", "materials")


def build_app(arguments: list[str]) -> typer.Typer:
    """Return the command line with the subcommand the arguments name, or with all of them."""
    named = [argument for argument in arguments[:1] if argument in COMMANDS]
    app = typer.Typer(add_completion=False, no_args_is_help=True, pretty_exceptions_enable=False)
    app.callback()(_about)
    for name in named or COMMANDS:
        module = importlib.import_module(f"optitip.cli.{name}")
        app.command(name)(answering(module.command))
    return app


def main() -> None:
    """Run the command line."""
    for name in _THREADS:
        os.environ.setdefault(name, "1")
    arguments = sys.argv[1:]
    build_app(arguments)(arguments, prog_name="optitip")


def _about() -> None:
    """How much of a flight's own heat a nose tip brings into an enclosed sample, and which tip brings more.

    Start with 'optitip new NAME', then 'optitip check NAME'.
    """
