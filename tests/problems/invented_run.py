"""Run folders of thousands of designs with invented figures: the coastal study's metrics, no physics."""

import json
import shutil
import sqlite3
from pathlib import Path

import numpy as np
import tomli_w

from optitip.errors import Outcome
from optitip.inputs.study import read_study
from optitip.metrics.registry import UNITS
from optitip.search.executors.face import States
from optitip.search.records import RunIdentity, Stage
from optitip.search.run_folder import STORE, STUDY, input_names
from optitip.search.space import Space, design_id
from optitip.search.store import create_or_open

COASTAL = Path(__file__).parents[2] / "studies" / "coastal-egg"
SMALLEST = ("margin.smallest", "turning.smallest")
FLOW_STATES = ("onset at 1e6", "turbulent while heating", "laminar")
NOWHERE = (Outcome.MESH_FOLDED, Outcome.MARCH_STALLED, Outcome.NOT_A_STUDY)


def invented_run(
    folder,
    *,
    designs,
    seed=1,
    confirmed=40,
    begun=1.8e9,
    pace=0.02,
    ended="",
    stage=Stage.SEARCH,
    milestones=20,
):
    """Write a run of the coastal study with so many designs, one in nine of them without an answer.

    ``begun`` and ``pace`` [s] give each evaluation its time; the first ``confirmed`` were run over all flow
    states as well.
    """
    study = read_study(COASTAL)
    names = input_names(list(study.all_files().values()))
    (folder / "inputs").mkdir(parents=True)
    for name, source in names.items():
        shutil.copyfile(source, folder / name)
    text = tomli_w.dumps(study.with_files_named({path: name for name, path in names.items()}))
    (folder / STUDY).write_text(text, encoding="utf-8")
    table = study.tables.sweep
    space = Space(table.free, table.options)
    rng = np.random.default_rng(seed)
    metrics = [
        name for name in UNITS if name.split(".")[0] in {"sample", "shell", "margin", "band", "turning"}
    ]
    points = rng.random((designs, space.dimension))
    figures = _figures(points, metrics, rng)
    with create_or_open(folder / STORE, RunIdentity(study_hash="invented", seed=84)) as store:
        store.note(evaluations=designs, stage=stage, ended=ended)
    with sqlite3.connect(folder / STORE) as connection:
        connection.execute("UPDATE stint SET started = ?", (begun,))
        connection.executemany(
            "INSERT INTO metric VALUES (?, ?, ?)",
            [(place, name, UNITS[name]) for place, name in enumerate(metrics)],
        )
        connection.executemany("INSERT INTO flow_state VALUES (?, ?)", list(enumerate(FLOW_STATES)))
        sides = np.tile(np.array([3, 2], dtype="<u2"), (len(metrics), 1)).tobytes()
        asked, done = [], []
        for row in range(designs + confirmed):
            here = row % designs
            design = space.design_at(points[here])
            states = States.SEARCH if row < designs else States.ALL
            failed = here % 9 == 4
            outcome = NOWHERE[here // 9 % len(NOWHERE)] if failed else Outcome.ANSWERED
            detail = "tip.band.thickness: invented" if failed else ""
            asked.append((row + 1, design_id(design), states.value, json.dumps(design)))
            blob = None if failed else figures[here].astype("<f8").tobytes()
            when = begun + pace * (row + 1)
            done.append((row + 1, 1, when, pace, outcome.name, detail, blob, None if failed else sides))
        connection.executemany("INSERT INTO asked VALUES (?, ?, ?, ?)", asked)
        connection.executemany("INSERT INTO evaluation VALUES (?, ?, ?, ?, ?, ?, ?, ?)", done)
        stones = np.unique(np.linspace(0, designs, milestones + 1).astype(int)[1:])
        connection.executemany(
            "INSERT INTO milestone VALUES (?, ?, ?, ?)",
            [(int(n), 1.0 - 50.0 / (n + 60.0), int(n**0.4), begun + pace * n) for n in stones],
        )
    return folder


def _figures(points, metrics, rng):
    """Return low, expected and high of each metric (n, m, 3): energy, mass and margin pull apart."""
    count = len(points)
    figures = np.empty((count, len(metrics), 3))
    away = 0.15 * rng.random(count)
    mass = 0.1 + 0.2 * points[:, 0] + away * 0.2
    margin = np.minimum(points[:, 1], 1.2 * points[:, 0]) - away
    energy = 4000.0 * (1.0 - 0.5 * points[:, 0] ** 2 - 0.4 * points[:, 1] ** 2 - away)
    known = {"sample.energy_peak": energy, "shell.mass": mass, "margin.smallest": margin}
    for place, name in enumerate(metrics):
        middle = known.get(name, 300.0 + 40.0 * rng.random(count))
        part = name.startswith(("margin", "turning")) and name not in SMALLEST
        middle = 5.0 + middle if part else middle
        middle = rng.random(count) if name == "turning.smallest" else middle
        spread = 0.0 if name.startswith("shell") else 0.02 * np.abs(middle)
        figures[:, place] = np.stack([middle - spread, middle, middle + spread], axis=1)
    return figures
