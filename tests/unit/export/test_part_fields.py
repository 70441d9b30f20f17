import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path

import meshio
import numpy as np
import pytest

from optitip.evaluate.assess import check
from optitip.export.part_fields import LOADS, PART_NUMBERS, TEMPERATURE, WHOLE, write_part_fields
from optitip.inputs.study import read_study

STUDIES = Path(__file__).parents[3] / "studies"


@pytest.fixture(scope="module")
def answer():
    return check(read_study(STUDIES / "coastal-egg"))


@pytest.fixture(scope="module")
def written(answer, tmp_path_factory):
    return write_part_fields(answer, folder=tmp_path_factory.mktemp("fields"))


def series(index):
    """Return the time of each file of a series with its mesh, as meshio reads it."""
    found = ET.parse(index).iter("DataSet")
    return [(float(one.get("timestep")), meshio.read(index.parent / one.get("file"))) for one in found]


def swept(mesh, *, parts):
    """Return the volume that the cells of some parts sweep about the axis [m3], by Pappus and Green."""
    numbers = [PART_NUMBERS[name] for name in parts]
    total = 0.0
    for block, part in zip(mesh.cells, mesh.cell_data["part"], strict=True):
        corners = mesh.points[block.data[np.isin(part, numbers)]]
        r, z = corners[..., 0], corners[..., 1]
        s, t = np.roll(r, -1, axis=1), np.roll(z, -1, axis=1)
        total += np.pi / 3.0 * float(((r + s) * (r * t - s * z)).sum())
    return total


def test_both_series_are_written_in_one_call(written):
    assert [path.name for path in written] == ["fields.pvd", "stress.pvd"]


def test_the_mesh_read_back_weighs_what_the_answer_says(answer, written):
    _, mesh = series(written[1])[0]
    metal = swept(mesh, parts=("plug", "band", "base"))
    assert 2700.0 * metal == pytest.approx(answer.metrics["shell.mass"].expected, rel=1e-12)


def test_temperatures_read_back_are_those_of_the_answer(answer, written):
    read = series(written[0])
    fields = answer.expected.fields
    assert [time for time, _ in read] == pytest.approx(fields.time.tolist(), abs=1e-6)
    assert np.array([mesh.point_data[TEMPERATURE] for _, mesh in read]) == pytest.approx(fields.temperature)
    hottest = max(mesh.point_data[TEMPERATURE].max() for _, mesh in read)
    peaks = [answer.expected.metrics[f"{part}.temperature_peak"] for part in ("plug", "band", "base")]
    assert hottest == pytest.approx(max(peaks), abs=1.0)


def test_stress_stands_at_the_instants_judged_with_the_temperature_of_then(answer, written):
    stress, read = answer.expected.fields.stress, series(written[1])
    assert [time for time, _ in read] == pytest.approx(sorted(stress.time.tolist()), abs=1e-6)
    temperatures = {round(time, 5): mesh.point_data[TEMPERATURE] for time, mesh in series(written[0])}
    for (time, mesh), loads, whole in zip(read, stress.loads, stress.whole, strict=True):
        assert mesh.point_data[LOADS] == pytest.approx(loads)
        assert mesh.point_data[WHOLE] == pytest.approx(whole)
        assert mesh.point_data[TEMPERATURE] == pytest.approx(temperatures[round(time, 5)])


def test_there_is_stress_in_the_metal_and_none_in_the_sample(written):
    _, mesh = series(written[1])[2]
    slab = np.unique(
        np.concatenate(
            [
                block.data[part == PART_NUMBERS["slab"]].ravel()
                for block, part in zip(mesh.cells, mesh.cell_data["part"], strict=True)
            ]
        )
    )
    assert not mesh.point_data[WHOLE][slab].any()
    assert mesh.point_data[WHOLE].max() > 1e6


def test_without_stress_there_is_one_series(answer, tmp_path):
    state = answer.expected
    bare = replace(state, fields=replace(state.fields, stress=None))
    alone = replace(answer, states={answer.expected_state: bare})
    assert [path.name for path in write_part_fields(alone, folder=tmp_path)] == ["fields.pvd"]
