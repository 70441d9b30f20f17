"""Temperature and other fields in time as VTU files with a PVD index, the one use of meshio.

Axes: x is the radius r, y the station z aft of the nose point, both in metres, and the third is 0.
Time in the index is in seconds from lift-off, temperature in kelvin.
"""

import itertools
import xml.etree.ElementTree as ET
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import meshio
import numpy as np

from optitip.arrays import FloatArray, IntArray
from optitip.export.files import made_folder, safe_name, whole_file, write_bytes

AXES = "x is r [m], y is z aft of the nose point [m]; timestep is time [s] from lift-off"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Instant:
    """The fields at one time [s]: ``points`` by name (n_nodes,) and ``cells`` by name (n_cells,).

    A name carries its unit, like ``temperature [K]``.
    """

    time: float
    points: Mapping[str, FloatArray] = field(default_factory=dict)
    cells: Mapping[str, FloatArray] = field(default_factory=dict)


def write_fields(
    points: FloatArray,
    *,
    cells: IntArray,
    parts: IntArray,
    part_names: Mapping[int, str],
    instants: Sequence[Instant],
    folder: Path,
    name: str = "fields",
) -> Path:
    """Write a VTU file an instant and the PVD index of them, and return the index's path.

    ``points`` (n_nodes, 2) columns r, z [m]; ``cells`` (n_cells, 4), where a corner named twice running makes
    a triangle; ``parts`` (n_cells,) the part each cell belongs to, named by ``part_names``.
    """
    if not instants or any(b.time <= a.time for a, b in itertools.pairwise(instants)):
        raise ValueError("the instants must follow one another in time, and there must be one")
    order, blocks = _blocks(cells)
    space = np.column_stack([points, np.zeros(len(points))])
    # a series written before may have had more instants: its files would be left behind, named by no index
    for old in made_folder(folder).glob(f"{safe_name(name)}-[0-9][0-9][0-9][0-9].vtu"):
        old.unlink()
    files = []
    for number, instant in enumerate(instants):
        by_cell = {"part": parts, **instant.cells}
        mesh = meshio.Mesh(
            space,
            blocks,
            point_data={key: np.asarray(values) for key, values in instant.points.items()},
            cell_data={key: [np.asarray(values)[one] for one in order] for key, values in by_cell.items()},
        )
        files.append(f"{safe_name(name)}-{number:04d}.vtu")
        with whole_file(folder, files[-1]) as part:
            mesh.write(part, file_format="vtu")
    index = _index(files, [instant.time for instant in instants], part_names)
    return write_bytes(folder, f"{safe_name(name)}.pvd", index)


def _blocks(cells: IntArray) -> tuple[list[IntArray], list[tuple[str, IntArray]]]:
    """Return which cells stand in each block, and the blocks: quadrilaterals, then triangles."""
    repeats = cells == np.roll(cells, -1, axis=1)
    if np.any(repeats.sum(axis=1) > 1):
        raise ValueError("a cell has fewer than three corners")
    is_triangle = repeats.any(axis=1)
    collapsed = np.flatnonzero(is_triangle)
    keep = ~repeats[collapsed]
    blocks = [
        ("quad", np.flatnonzero(~is_triangle), cells[~is_triangle]),
        ("triangle", collapsed, cells[collapsed][keep].reshape(-1, 3)),
    ]
    filled = [block for block in blocks if len(block[1])]
    return [order for _, order, _ in filled], [(kind, corners) for kind, _, corners in filled]


def _index(files: Sequence[str], times: Sequence[float], part_names: Mapping[int, str]) -> bytes:
    root = ET.Element("VTKFile", type="Collection", version="0.1", byte_order="LittleEndian")
    named = ", ".join(f"{number} {name}" for number, name in sorted(part_names.items()))
    root.append(ET.Comment(f" {AXES}; part: {named} ".replace("--", "- -")))
    collection = ET.SubElement(root, "Collection")
    for file, time in zip(files, times, strict=True):
        ET.SubElement(collection, "DataSet", timestep=f"{time:.9g}", group="", part="0", file=file)
    ET.indent(root)
    content: bytes = ET.tostring(root, encoding="utf-8", xml_declaration=True)
    return content
