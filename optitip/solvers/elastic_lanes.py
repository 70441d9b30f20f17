"""Stress of one shell by the compiled kernels, where numba is installed: eight states at once."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import TYPE_CHECKING, cast

import numpy as np

from optitip.errors import DesignFailure, Outcome
from optitip.solvers.elastic_body import Solved, StressBody, StressLoads
from optitip.solvers.elastic_joints import press

if TYPE_CHECKING:
    from optitip.solvers.compiled_stress import ShellLanes

STATES = 8
"""how many states go through the kernels side by side"""


@lru_cache(maxsize=1)
def compiled_shell() -> Callable[..., ShellLanes | None] | None:
    """Return what readies a design for the compiled kernels, or none where numba isn't installed."""
    try:
        from optitip.solvers.compiled_stress import shell_lanes  # noqa: PLC0415 (an optional extra, slow)
    except ModuleNotFoundError as missing:
        if missing.name not in {"numba", "llvmlite"}:
            raise
        return None
    return cast("Callable[..., ShellLanes | None]", shell_lanes)


def solve_in_lanes(body: StressBody, lanes: ShellLanes, *, loads: StressLoads) -> Solved:
    """Return movement, stress, contact and axial forces, as ``solve_plainly`` does.

    Raises DesignFailure (MESH_FOLDED) where the stiffness isn't positive definite.
    """
    states = _with_assembled(loads) if body.contact is not None else loads
    n, n_s = len(loads.acceleration), len(states.acceleration)
    pushes = np.zeros((0, 0)) if body.contact is None else body.contact.pushes(body.plan.free_count)
    contact = np.zeros((n_s, len(body.cells.joints)))
    cell_count, node_count = len(body.cells.nodes), body.cells.moving_of.size
    stress, movement = np.empty((2, cell_count, 4, 4, n_s)), np.empty((2, node_count, 2, n_s))
    ahead = np.empty((n_s, body.cells.fore_row.size + 1))
    for start in range(0, n_s, STATES):
        some = slice(start, start + STATES)
        found = lanes.solve(
            temperature=np.asarray(states.temperature)[some],
            start=states.start_temperature,
            acceleration=np.asarray(states.acceleration)[some],
            outline=np.asarray(states.outline_pressure)[some],
            inner=np.asarray(states.inner_pressure)[some],
            pushes=pushes,
        )
        if not found.stiff:
            detail = "its stiffness isn't positive definite"
            raise DesignFailure(Outcome.MESH_FOLDED, place="tip", detail=detail)
        if body.contact is not None:
            by_loads, by_all = press(body.contact, moved=found.moved)
            found.add(by_loads, by_all)
            contact[some] = body.contact.by_joint(by_all, joints=contact.shape[1])
        found.put(stress=stress[..., some], movement=movement[..., some])
        ahead[some] = found.ahead
    blocks = np.append(
        np.searchsorted(body.cells.fore_row, body.cells.joints[:, 1]), body.cells.fore_row.size
    )
    return Solved(
        stress=np.moveaxis(stress, -1, 1),
        movement=np.moveaxis(movement, -1, 1),
        contact=contact,
        ahead=ahead[:n, blocks],
    )


def _with_assembled(loads: StressLoads) -> StressLoads:
    """Return the loads with one more state: the shell put together, cold, under none."""
    temperature = np.asarray(loads.temperature)
    cold = np.broadcast_to(loads.start_temperature, (1, temperature.shape[1]))
    none = np.zeros((1, np.shape(loads.outline_pressure)[1]))
    return StressLoads(
        temperature=np.concatenate((temperature, cold)),
        start_temperature=loads.start_temperature,
        acceleration=np.append(loads.acceleration, 0.0),
        outline_pressure=np.concatenate((loads.outline_pressure, none)),
        inner_pressure=np.concatenate((loads.inner_pressure, none)),
    )
