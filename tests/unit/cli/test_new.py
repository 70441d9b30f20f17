"""The starter's own words: what it proposes stands on the tip that it describes."""

import re

from optitip.cli.new import STUDY, write_starter
from optitip.evaluate.assess import assess, check
from optitip.evaluate.building import build_tip
from optitip.evaluate.turnable import turnable
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.inputs.study import read_study


def test_the_starter_can_be_turned_as_it_is_and_with_the_thread_that_it_proposes(tmp_path):
    [thread] = re.findall(r'^# thread = "(.*?)"', STUDY, re.MULTILINE)
    write_starter(tmp_path / "one")
    study = read_study(tmp_path / "one")
    for base in ({}, {"tip.base": {"separate": True, "fixing": {"thread": thread}}}):
        tables = study.with_design(base).tables
        lathe = turnable(build_tip(tables, folder=study.folder, resolution=DEFAULT_RESOLUTION))
        assert [one.said() for one in lathe.findings if not one.kept] == []
        assert lathe.unknown == lathe.advice == ()


def test_the_defaults_that_the_starter_tells_of_the_lathe_are_those(tmp_path):
    write_starter(tmp_path / "one")
    block = STUDY.partition("[turning]")[2].partition("[vehicle]")[0]
    given = dict(re.findall(r'^# (\w+) = "([^"]*)"', block, re.MULTILINE))
    study = read_study(tmp_path / "one")
    assert len(given) == 6
    for key, value in given.items():
        told = study.with_design({f"turning.{key}": value}).tables.turning
        assert getattr(told, key) == getattr(study.tables.turning, key)


def test_the_thread_that_the_starter_proposes_holds_its_base(tmp_path):
    [thread] = re.findall(r'^# thread = "(.*?)"', STUDY, re.MULTILINE)
    [length] = re.findall(r'^# engagement = "(.*?)"', STUDY, re.MULTILINE)
    write_starter(tmp_path / "one")
    base = {"separate": True, "fixing": {"thread": thread, "engagement": length}}
    found = assess(read_study(tmp_path / "one"), design={"tip.base": base}, searching=True)
    assert found.metrics["margin.thread"].low > 0.0


def test_the_defaults_that_the_starter_tells_of_strength_are_those(tmp_path):
    write_starter(tmp_path / "one")
    given = dict(re.findall(r'^# (\w+) = ("[^"]*"|[\d.]+)', STUDY.partition("[strength]")[2], re.MULTILINE))
    study = read_study(tmp_path / "one")
    for key in ("safety_factor", "gust", "lateral_acceleration", "hand_load", "snatch", "flights"):
        number = int(given[key]) if key == "flights" else given[key].strip('"')
        told = study.with_design({f"strength.{key}": number}).tables.strength
        assert getattr(told, key) == getattr(study.tables.strength, key)


def test_the_limits_that_the_starter_proposes_are_held_by_the_starter(tmp_path):
    """A first sweep of what no limit allows would end without a front."""
    write_starter(tmp_path / "one")
    proposed = STUDY.partition("# [limits]")[2].partition("# [sweep]")[0]
    limits = dict(re.findall(r'^# "(.*?)" = "(.*?)"', proposed, re.MULTILINE))
    assert len(limits) == 2
    path = tmp_path / "one" / "study.toml"
    lines = "\n".join(f'"{name}" = "{text}"' for name, text in limits.items())
    path.write_text(f"{path.read_text()}\n[limits]\n{lines}\n")
    found = check(path)
    assert [one.held for one in found.limits] == [True, True]
