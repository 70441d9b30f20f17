"""Which node stands where: the part of a mesh that is the same for every design of the same choices."""

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from enum import IntEnum
from functools import lru_cache

import numpy as np

from optitip.arrays import BoolArray, FloatArray, IntArray, frozen, frozen_index
from optitip.geometry.sides import row_edges
from optitip.geometry.tip import Cavity

JOINED = -1
SLIVER = 1e-5  # a zone of the band shorter than this [m] is left out


class Zone(IntEnum):
    """The parts of a mesh, fore to aft, then inward."""

    NOSE = 0
    PLUG = 1
    FACE = 2
    FILLET = 3
    FORE_TAPER = 4
    FORE = 5
    POCKET = 6
    AFT = 7
    AFT_TAPER = 8
    BASE_FACE = 9
    BASE = 10
    SLAB = 11
    BACKING = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Resolution:
    """How many strips each zone gets, and cells across; strips and the shell's cells are even in number.

    Two strips by two cells make one nine-node cell for the stress.
    """

    nose: int = 12
    plug: int = 20
    face: int = 6
    fillet: int = 8
    fore_taper: int = 8
    fore: int = 6
    pocket: int = 14
    aft: int = 6
    aft_taper: int = 8
    base_face: int = 8
    base: int = 12
    across: int = 4
    slab: int = 14
    slab_first: float = 5e-5  # [m] thickness of the slab's cell at the hot face
    backing: int = 2

    def __post_init__(self) -> None:
        """Refuse odd counts: a programmer's slip, not a user's."""
        for one in fields(self):
            count = getattr(self, one.name)
            if one.name not in {"slab", "slab_first", "backing"} and (count < 2 or count % 2):
                raise ValueError(f"{one.name} is {count}: an even number, 2 or more, is wanted")

    def refined(self, factor: int) -> "Resolution":
        """Return the resolution with every cell cut in ``factor`` both ways.

        >>> Resolution().refined(2).pocket
        28
        """
        counts = {
            one.name: factor * getattr(self, one.name) for one in fields(self) if one.name != "slab_first"
        }
        return replace(self, **counts, slab_first=self.slab_first / factor)


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """What a mesh has and hasn't: the choices of a design that change the topology."""

    insert: bool
    fillet: bool
    fore: bool
    aft: bool
    solid: bool
    bored: bool
    separate: bool
    slab: bool
    backing: bool

    def zones(self) -> tuple[Zone, ...]:
        """Return the shell's zones, fore to aft."""
        left_out = {
            Zone.FILLET: not self.fillet,
            Zone.FORE: not self.fore,
            Zone.AFT: not self.aft,
            Zone.BASE_FACE: not self.solid,
            Zone.SLAB: True,
            Zone.BACKING: True,
        }
        return tuple(zone for zone in Zone if not left_out.get(zone, False))


def choices_of(cavity: Cavity) -> Choices:
    """Return the choices of a buildable design; zones too short to cut in strips count as not there."""
    design = cavity.design
    return Choices(
        insert=cavity.insert_arc is not None,
        fillet=design.plug_fillet > SLIVER,
        fore=cavity.pocket_arc[0] - cavity.band_arc[0] > SLIVER,
        aft=cavity.band_arc[1] - cavity.pocket_arc[1] > SLIVER,
        solid=design.solid_base,
        bored=design.base_bore is not None,
        separate=cavity.joint_arc is not None,
        slab=design.slab_thickness is not None,
        backing=design.backing_thickness is not None,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class JointNodes:
    """The nodes that face each other across a joint; ``first`` lies fore or on the hot side."""

    name: str
    first: IntArray
    second: IntArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Topology:
    """Cells, rows, sides and joints by node number; a *line* is a row, or a joint's two."""

    zones: tuple[Zone, ...]
    line_zone: IntArray  # (n_lines,) place in ``zones`` of the strip fore of each line (0 for the apex)
    line_share: FloatArray  # (n_lines,) how far through that zone, 0..1
    lines_of: Mapping[Zone, slice]  # each zone's lines, the one it begins on left out
    line_of_row: IntArray  # (n_rows,)
    counts: FloatArray  # strips in each of ``zones``
    pocket_lines: slice
    across: FloatArray  # (n_across + 1, 1) share of the way from the outline to the inner curve
    rows: IntArray
    strip_zone: IntArray
    cells: IntArray
    cell_zone: IntArray
    slab_rows: IntArray
    backing_rows: IntArray
    outer_edges: IntArray
    inner_edges: IntArray
    aft_edges: IntArray
    joints: tuple[JointNodes, ...]
    node_count: int
    half_bandwidth: int


@lru_cache(maxsize=64)
def topology(choices: Choices, *, resolution: Resolution) -> Topology:
    """Return the topology of ``choices`` at ``resolution``: the same object for the same question."""
    zones = choices.zones()
    counts = np.array([getattr(resolution, zone.name.lower()) for zone in zones])
    line_zone = np.concatenate([[0], np.repeat(np.arange(len(zones)), counts)])
    line_share = np.concatenate([[0.0], *(np.arange(1, n + 1) / n for n in counts)])
    starts = dict(zip(zones, np.concatenate([[0], np.cumsum(counts)]).tolist(), strict=False))
    joined = _joined_lines(choices, starts)
    line_of_row = np.sort(np.concatenate([np.arange(line_zone.size), list(joined.values())]).astype(int))
    strip_zone = np.where(
        np.diff(line_of_row) == 0, JOINED, np.array(zones, dtype=int)[line_zone[line_of_row[1:]]]
    )
    pocket = slice(starts[Zone.POCKET], starts[Zone.POCKET] + resolution.pocket + 1)
    lining = (resolution.slab + 1 if choices.slab else 0, resolution.backing + 1 if choices.backing else 0)
    in_pocket = (line_of_row >= pocket.start) & (line_of_row < pocket.stop)
    rows, slab_rows, backing_rows, node_count = _numbered(in_pocket, across=resolution.across, lining=lining)
    strips = [(rows, strip_zone), (slab_rows, np.full(resolution.pocket, Zone.SLAB))]
    strips.append((backing_rows, np.full(resolution.pocket, Zone.BACKING)))
    cells, cell_zone = (np.concatenate(part) for part in zip(*(_cells(*one) for one in strips), strict=True))
    joints = _joints(rows, slab_rows, backing_rows, line_of_row=line_of_row, joined=joined, pocket=in_pocket)
    real = strip_zone != JOINED
    inner = np.isin(strip_zone, _walls(choices))
    return Topology(
        zones=zones,
        line_zone=frozen_index(line_zone),
        line_share=frozen(line_share),
        lines_of={
            zone: slice(starts[zone] + 1, starts[zone] + n + 1)
            for zone, n in zip(zones, counts.tolist(), strict=True)
        },
        line_of_row=frozen_index(line_of_row),
        counts=frozen(counts),
        pocket_lines=pocket,
        across=frozen(np.linspace(0.0, 1.0, resolution.across + 1)[:, None]),
        rows=frozen_index(rows),
        strip_zone=frozen_index(strip_zone),
        cells=frozen_index(cells),
        cell_zone=frozen_index(cell_zone),
        slab_rows=frozen_index(slab_rows),
        backing_rows=frozen_index(backing_rows),
        outer_edges=frozen_index(row_edges(rows[:, 0])[real]),
        inner_edges=frozen_index(row_edges(rows[:, -1])[inner]),
        aft_edges=frozen_index(row_edges(rows[-1])),
        joints=joints,
        node_count=node_count,
        half_bandwidth=_half_bandwidth(cells, joints),
    )


def _joined_lines(choices: Choices, starts: dict[Zone, int]) -> dict[str, int]:
    lines = {}
    if choices.insert:
        lines["plug"] = starts[Zone.PLUG]
    if choices.separate:
        lines["base"] = starts[Zone.BASE_FACE if choices.solid else Zone.BASE]
    return lines


def _walls(choices: Choices) -> list[int]:
    """Return the zones whose inner side is the cavity's wall rather than the axis."""
    walls = [
        Zone.FACE,
        Zone.FILLET,
        Zone.FORE_TAPER,
        Zone.FORE,
        Zone.POCKET,
        Zone.AFT,
        Zone.AFT_TAPER,
        Zone.BASE_FACE,
    ]
    if not choices.solid or choices.bored:
        walls.append(Zone.BASE)
    return [int(zone) for zone in walls]


def _numbered(
    in_pocket: BoolArray, *, across: int, lining: tuple[int, int]
) -> tuple[IntArray, IntArray, IntArray, int]:
    """Return the rows of shell, slab and backing, numbered across first, and how many nodes."""
    width = np.where(in_pocket, across + 1 + sum(lining), across + 1)
    width[0] = 1  # the apex
    start = np.concatenate([[0], np.cumsum(width)])
    rows = start[:-1, None] + np.arange(across + 1)
    rows[0] = 0
    inward = start[:-1][in_pocket, None] + across + 1
    return rows, inward + np.arange(lining[0]), inward + lining[0] + np.arange(lining[1]), int(start[-1])


def _cells(rows: IntArray, strip_zone: IntArray) -> tuple[IntArray, IntArray]:
    """Return the cells between neighbouring rows, counter-clockwise with r to the right and z upward."""
    strips = np.flatnonzero(strip_zone != JOINED)
    fore, aft = rows[strips], rows[strips + 1]
    cells = np.stack([fore[:, :-1], aft[:, :-1], aft[:, 1:], fore[:, 1:]], axis=-1)
    return cells.reshape(-1, 4), np.repeat(strip_zone[strips], cells.shape[1])


def _joints(
    rows: IntArray,
    slab_rows: IntArray,
    backing_rows: IntArray,
    *,
    line_of_row: IntArray,
    joined: dict[str, int],
    pocket: BoolArray,
) -> tuple[JointNodes, ...]:
    pairs = []
    if slab_rows.size:
        pairs.append(("sample", rows[pocket, -1], slab_rows[:, 0]))
    if backing_rows.size:
        pairs.append(("backing", slab_rows[:, -1], backing_rows[:, 0]))
    for name, line in joined.items():
        fore, aft = np.flatnonzero(line_of_row == line)
        pairs.append((name, rows[fore], rows[aft]))
    return tuple(JointNodes(name=n, first=frozen_index(a), second=frozen_index(b)) for n, a, b in pairs)


def _half_bandwidth(cells: IntArray, joints: tuple[JointNodes, ...]) -> int:
    apart = [int((cells.max(axis=1) - cells.min(axis=1)).max())]
    apart += [int(np.abs(joint.second - joint.first).max()) for joint in joints]
    return max(apart)
