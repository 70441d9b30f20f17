import subprocess
import sys

from optitip.cli.main import run

HEAVY = {"pint", "pydantic", "numpy", "scipy", "matplotlib"}


def test_the_help_of_all_commands_needs_none_of_the_heavy_libraries():
    asked = (
        "import sys; from optitip.cli.main import run; run(['--help']); print(*sys.modules, file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    assert "sweep" in done.stdout
    assert HEAVY & set(done.stderr.split()) == set()


def test_a_stop_while_a_command_is_imported_is_a_stop(monkeypatch, capsys):
    def stopped(_name):
        raise KeyboardInterrupt

    monkeypatch.setattr("importlib.import_module", stopped)
    assert run(["export", "study"]) == 130
    assert capsys.readouterr().err == "stopped\n"
