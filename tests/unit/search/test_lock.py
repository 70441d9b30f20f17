import json
import os
import socket
import subprocess
import sys
from pathlib import Path

import pytest

from optitip.errors import UserMistakes
from optitip.search.lock import holder_of, locked


@pytest.fixture
def path(tmp_path):
    return tmp_path / "lock"


def _write(path, *, process, host=None):
    path.write_text(json.dumps({"host": host or socket.gethostname(), "process": process}))


def _ended_process():
    process = subprocess.Popen([sys.executable, "-c", ""])
    process.wait()
    return process.pid


def test_the_lock_is_gone_after_the_block_even_when_it_failed(path):
    with pytest.raises(ZeroDivisionError), locked(path):
        1 / json.loads(path.read_text())["process"] // 0
    assert list(path.parent.iterdir()) == []


def test_a_second_sweep_in_the_same_process_is_refused(path):
    with locked(path), pytest.raises(UserMistakes, match="another sweep"), locked(path):
        pass


def test_the_lock_of_a_living_process_is_refused(path):
    _write(path, process=os.getppid())  # of before processes were told apart
    with pytest.raises(UserMistakes, match=f"process {os.getppid()}"), locked(path):
        pass
    assert path.exists()


def test_the_lock_of_a_process_that_is_gone_is_taken_over(path):
    _write(path, process=_ended_process())
    with locked(path):
        assert json.loads(path.read_text())["process"] == os.getpid()
    assert list(path.parent.iterdir()) == []


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="the system doesn't tell processes apart")
def test_a_number_given_anew_after_a_power_cut_is_not_the_process_that_held_the_lock(path):
    with locked(path):
        held = json.loads(path.read_text())
    boot, ticks = held["began"].split()
    path.write_text(json.dumps({**held, "began": f"{boot} {int(ticks) - 1}"}))
    assert not holder_of(path).alive
    with locked(path):
        assert holder_of(path).alive
    assert list(path.parent.iterdir()) == []


def test_a_lock_appears_whole_or_not_at_all(path, monkeypatch):
    def killed(*_):
        assert not path.exists()
        raise ZeroDivisionError

    monkeypatch.setattr("os.fsync", killed)
    with pytest.raises(ZeroDivisionError), locked(path):
        pass
    assert not path.exists()


def test_the_lock_of_another_machine_is_never_taken_over(path):
    _write(path, process=_ended_process(), host="another-machine")
    with pytest.raises(UserMistakes, match="another-machine"), locked(path):
        pass


@pytest.mark.parametrize("text", ["", "12", "{}", '{"host": "x", "process": "y"}'])
def test_a_lock_nobody_can_read_is_left_to_the_user(path, text):
    path.write_text(text)
    with pytest.raises(UserMistakes, match="Delete this file if no sweep is running"), locked(path):
        pass
    assert path.exists()
