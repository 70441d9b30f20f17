"""A sweep lives through what a night does to it: kills, a full disk, a closed lid, Ctrl-C; from outside.

Each accident happens to the real command in processes of its own, and the same command afterwards must give
the very front of a sweep that nothing happened to.
"""

import os
import pty
import random
import resource
import shutil
import signal
import subprocess
import sys
import time
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest

from optitip.search.run_folder import FRONT, LOCK, STORE

ROOT = Path(__file__).parents[2]
PROGRAM = Path(sys.executable).parent / "optitip"
SWEEP = """

[sweep]
maximise = ["sample.energy_peak"]
minimise = ["shell.mass", "band.temperature_peak"]
evaluations = 120
lead = "genetic"
time_limit = "10 s"

[sweep.free]
"tip.band.thickness" = ["0.6 mm", "2.5 mm"]
"tip.plug.length" = ["20 mm", "50 mm"]
"sample.slab.thickness" = ["2 mm", "6 mm"]

[sweep.choices]
"tip.material" = ["6061-T6", "304"]
"""
STOPPED, MISTAKE = 130, 2
PATIENCE = 240.0


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    """Return the rig on the bench with a small sweep: no flight, no strength, a few ms a design."""
    folder = tmp_path_factory.mktemp("study") / "rig"
    shutil.copytree(ROOT / "studies" / "heated-rig", folder)
    path = folder / "study.toml"
    path.write_text(path.read_text(encoding="utf-8") + SWEEP, encoding="utf-8")
    return folder


def _command(study, run, *, workers=2):
    return [PROGRAM, "sweep", study, "--out", run, "--workers", str(workers)]


def _environment():
    return {**os.environ, "OPENBLAS_NUM_THREADS": "1", "NO_COLOR": "1", "COLUMNS": "100"}


def _start(study, run, **options):
    """Start a sweep as the leader of a process group of its own, as a shell does."""
    pipes = {"stdout": subprocess.DEVNULL, "stderr": subprocess.PIPE, "text": True}
    return subprocess.Popen(
        _command(study, run, **options), env=_environment(), start_new_session=True, **pipes
    )


@contextmanager
def _started(study, run, **options):
    """Start a sweep as ``_start`` does; none of it outlives the block."""
    process = _start(study, run, **options)
    try:
        yield process
    finally:
        with suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
        process.wait()
        process.stderr.close()


def _sweep(study, run, **options):
    """Sweep to the end, and return what it said to the person."""
    with _started(study, run, **options) as process:
        return process.wait(PATIENCE), process.stderr.read()


@pytest.fixture(scope="module")
def undisturbed(study, tmp_path_factory):
    """Return the front of a sweep by two workers that nothing happened to."""
    run = tmp_path_factory.mktemp("undisturbed") / "run"
    assert _sweep(study, run)[0] == 0
    front = (run / FRONT).read_bytes()
    assert front.count(b"\n") > 5
    return front


def _size(run):
    """Return how much the store has written, its log of what isn't yet in it included."""
    files = (run / STORE, run / f"{STORE}-wal")
    return sum(path.stat().st_size for path in files if path.exists())


def _grown(run, process, *, times):
    """Wait until workers are there and the store has grown so many times since, or the process has ended."""
    deadline = time.monotonic() + PATIENCE
    while process.poll() is None and not _workers(process.pid):
        assert time.monotonic() < deadline
        time.sleep(0.01)
    last = _size(run)
    while times and process.poll() is None:
        assert time.monotonic() < deadline
        now = _size(run)
        times -= now != last
        last = now
        time.sleep(0.0005)


def _workers(pid):
    """Return the worker processes of the sweep with this process id."""
    found = []
    with suppress(OSError):  # it has just ended
        for child in Path(f"/proc/{pid}/task/{pid}/children").read_text().split():
            if b"spawn_main" in Path(f"/proc/{child}/cmdline").read_bytes():
                found.append(int(child))
    return found


def _kill(pid, how=signal.SIGKILL):
    try:
        os.kill(pid, how)
    except ProcessLookupError:
        return False
    return True


def _killed_at_random(study, run, *, drivers, seed):
    """Kill the driver so many times, and before each some of its workers; return the kills of both."""
    dice = random.Random(seed)
    driver_kills = worker_kills = 0
    while driver_kills < drivers:
        with _started(study, run) as process:
            for _ in range(2):
                _grown(run, process, times=dice.randint(1, 6))
                time.sleep(dice.random() * 0.02)
                workers = _workers(process.pid) if process.poll() is None else []
                worker_kills += bool(workers) and _kill(dice.choice(workers))
            # often in the midst of a commit: as the store grows
            _grown(run, process, times=dice.randint(1, 6))
            time.sleep(dice.choice([0.0, dice.random() * 0.001, dice.random() * 0.1]))
            if process.poll() is not None:
                break
            process.kill()
            process.wait()
            driver_kills += 1
    return driver_kills, worker_kills


def _goes_on_to_the_same_front(study, run, undisturbed, **options):
    code, said = _sweep(study, run, **options)
    assert code == 0, said
    assert (run / FRONT).read_bytes() == undisturbed
    assert not (run / LOCK).exists()


def _is_a_line(said):
    """Return the one line that was said, beside what every sweep says of its search and of Ctrl-C."""
    always = ("Breeding alone", "Stopping after what runs", "Watch it from beside")
    lines = [line for line in said.splitlines() if line.strip() and not line.startswith(always)]
    assert len(lines) == 1, said
    return lines[0]


def _sleep(run, process, *, seconds):
    """Stop a sweep with its workers, as a closed lid does, and let it go on."""
    assert process.poll() is None
    os.killpg(process.pid, signal.SIGSTOP)
    time.sleep(0.2)
    before = _size(run)
    time.sleep(seconds)
    assert _size(run) == before
    os.killpg(process.pid, signal.SIGCONT)


def _refused(study, run):
    """Ask for a second sweep of a folder that another one holds."""
    code, said = _sweep(study, run)
    assert code == MISTAKE
    assert "another sweep" in _is_a_line(said)


def _interrupted(process):
    """Press Ctrl-C once: what runs is finished, and a line says how to go on."""
    os.killpg(process.pid, signal.SIGINT)
    assert process.wait(30.0) == STOPPED
    assert "Give the same command again to go on" in _is_a_line(process.stderr.read())


def _interrupted_twice(process):
    """Press Ctrl-C twice while the workers can't finish what they do: all of them end at once."""
    workers = _workers(process.pid)
    assert workers
    for worker in workers:
        _kill(worker, signal.SIGSTOP)
    os.killpg(process.pid, signal.SIGINT)
    time.sleep(1.0)
    assert process.poll() is None
    os.killpg(process.pid, signal.SIGINT)
    assert process.wait(10.0) == STOPPED
    assert "Give the same command again to go on" in _is_a_line(process.stderr.read())
    assert not any(Path(f"/proc/{worker}").exists() for worker in workers)


needs_proc = pytest.mark.skipif(not Path("/proc/self/task").exists(), reason="finds workers in /proc")


@needs_proc
def test_a_night_of_accidents_leaves_the_front_as_it_would_have_been(study, undisturbed, tmp_path):
    """A lid closed for longer than the time limit, a second sweep, kills, Ctrl-C once and twice."""
    run = tmp_path / "run"
    with _started(study, run) as process:
        _grown(run, process, times=2)
        _sleep(run, process, seconds=11.0)
        _grown(run, process, times=2)
        os.killpg(process.pid, signal.SIGSTOP)
        _refused(study, run)
        os.killpg(process.pid, signal.SIGCONT)
        _kill(_workers(process.pid)[0])
        _grown(run, process, times=2)
        process.kill()
        process.wait()
    with _started(study, run) as process:
        _grown(run, process, times=3)
        _interrupted(process)
    with _started(study, run) as process:
        _grown(run, process, times=2)
        _interrupted_twice(process)
    assert not (run / FRONT).exists()
    _goes_on_to_the_same_front(study, run, undisturbed, workers=1)


@needs_proc
@pytest.mark.long
def test_twenty_kills_leave_the_front_as_it_would_have_been(study, undisturbed, tmp_path):
    drivers = workers = 0
    for seed in range(20):
        run = tmp_path / f"run {seed}"
        killed = _killed_at_random(study, run, drivers=5, seed=seed)
        drivers, workers = drivers + killed[0], workers + killed[1]
        _goes_on_to_the_same_front(study, run, undisturbed, workers=1 + seed % 2)
        if drivers >= 20 and workers >= 20:
            break
    assert drivers >= 20
    assert workers >= 20


@pytest.mark.long
def test_a_machine_that_slept_for_a_minute_loses_no_design(study, undisturbed, tmp_path):
    run = tmp_path / "run"
    with _started(study, run) as process:
        _grown(run, process, times=5)
        _sleep(run, process, seconds=60.0)
        assert process.wait(PATIENCE) == 0
    assert (run / FRONT).read_bytes() == undisturbed


@needs_proc
def test_ctrl_c_at_a_terminal_while_workers_start_leaves_no_trace_of_the_program_on_it(study, tmp_path):
    """The terminal's own Ctrl-C goes to the workers too, which import what they need just then."""
    pid, terminal = pty.fork()
    if pid == 0:
        command = [str(part) for part in _command(study, tmp_path / "run")]
        os.execve(PROGRAM, command, _environment())
    os.set_blocking(terminal, False)
    said, pressed, deadline = b"", False, time.monotonic() + PATIENCE
    while True:
        assert time.monotonic() < deadline, said
        if not pressed and _workers(pid):
            os.write(terminal, b"\x03")
            pressed = True
        try:
            said += os.read(terminal, 65536)
        except BlockingIOError:
            time.sleep(0.01)
        except OSError:  # all of them have left the terminal
            break
    assert os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]) == STOPPED
    assert pressed
    assert b"Traceback" not in said, said.decode()
    assert b"Give the same command again to go on" in b" ".join(said.split())


def _in_a_room_of_its_own(script, *arguments):
    """Run a shell script where it may mount what it likes and nobody else sees it."""
    inside = ["unshare", "--mount", "--map-root-user", "sh", "-euc", script, "sh", *map(str, arguments)]
    try:
        able = subprocess.run([*inside[:3], "true"], capture_output=True, check=False).returncode == 0
    except FileNotFoundError:
        able = False
    if not able:
        pytest.skip("this machine lets nobody mount")
    done = subprocess.run(
        inside, env=_environment(), capture_output=True, text=True, timeout=PATIENCE, check=False
    )
    return done.returncode, done.stdout, done.stderr


def test_a_full_disk_is_one_line_and_after_room_was_made_the_same_command_goes_on(
    study, undisturbed, tmp_path
):
    script = """
    mount -t tmpfs -o size=300k none "$1"
    set +e
    shift
    "$@" --out "$DISK/run" > /dev/null
    echo "ended with $?" >&2
    mount -o remount,size=60m "$DISK"
    "$@" --out "$DISK/run" > /dev/null || exit 1
    cp "$DISK/run/front.csv" "$KEPT"
    """
    disk, kept = tmp_path / "disk", tmp_path / "front.csv"
    disk.mkdir()
    script = f"DISK='{disk}'\nKEPT='{kept}'\n{script}"
    code, _, said = _in_a_room_of_its_own(script, disk, PROGRAM, "sweep", study, "--workers", 2)
    assert code == 0, said
    before, ended, _ = said.partition(f"ended with {MISTAKE}\n")
    assert ended, said
    assert "the disk is full. Make room and give the same command again: nothing is lost." in _is_a_line(
        before
    )
    assert kept.read_bytes() == undisturbed


@pytest.mark.long
def test_a_file_that_may_not_grow_is_one_line_and_the_same_command_goes_on(study, undisturbed, tmp_path):
    run = tmp_path / "run"
    most = 150_000
    process = subprocess.Popen(
        _command(study, run),
        env=_environment(),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (most, most)),  # noqa: PLW1509
    )
    assert process.wait(PATIENCE) == MISTAKE
    assert str(run) in _is_a_line(process.stderr.read())
    _goes_on_to_the_same_front(study, run, undisturbed)


def test_a_folder_that_can_not_be_written_is_one_line(study, tmp_path):
    run = tmp_path / "folder"
    run.mkdir()
    if os.geteuid() == 0:  # whom no permissions bind
        script = 'mount --bind "$1" "$1"; mount -o remount,bind,ro "$1"; shift; exec "$@"'
        code, _, said = _in_a_room_of_its_own(script, run, *_command(study, run / "run"))
    else:
        run.chmod(0o555)
        code, said = _sweep(study, run / "run")
    assert code == MISTAKE, said
    assert "Name a folder that can be written" in _is_a_line(said)
    assert list(run.iterdir()) == []
