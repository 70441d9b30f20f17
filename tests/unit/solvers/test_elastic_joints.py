"""Where the sides of a joint touch, what they press with, and the axial force a joint carries."""

import numpy as np
import pytest

from optitip.solvers.elastic import Restraint
from optitip.solvers.elastic_cells import nine_node_cells, set_apart
from optitip.solvers.elastic_joints import JointFit, Spigot, touching

RIM = 0.024


@pytest.fixture
def fitted(solve_lattice, elastic, tube_lattice):
    """Return the solver of two tubes of 20 to 24 mm end to end, 20 mm long each, with a fit between them."""

    def solved(offset, *, inner=0.02, spigot=Spigot.AFT, heat=None, **loads):
        fore = tube_lattice(inner, RIM, length=0.02, strips=16, across=4)
        lattice = np.concatenate((fore, fore + np.array([0.0, 0.02])))
        if inner == 0.0:
            lattice[:, -1, 0] = 0.0
        temperature = np.full(lattice.shape[:2], 300.0)
        if heat is not None:
            temperature[: len(fore)] += heat[0]
            temperature[len(fore) :] += heat[1]
        return solve_lattice(
            lattice,
            elastic=elastic(),
            strip_zone=np.array([0] * 16 + [-1] + [1] * 16),
            temperature=temperature,
            fits={} if offset is None else {0: JointFit(offset=offset, spigot=spigot)},
            **loads,
        )

    return solved


def sides(tube):
    """Return u_r of the fore and of the aft side of the joint, outline to inner [m]."""
    return tube.fields.total_movement[0, :, 0][tube.cells.rows[tube.cells.joints[0]]]


def test_of_two_joints_only_the_one_asked_for_is_set_apart():
    zones = np.array([1, 1, -1, 2, 2, 2, 2, -1, 3, 3])
    cells = nine_node_cells(np.arange(33).reshape(11, 3), strip_zone=zones)
    split = set_apart(cells, joints=(1,))
    fore, aft = split.moving_of[split.rows[split.joints]].transpose(1, 0, 2)
    np.testing.assert_array_equal(fore[0], aft[0])
    np.testing.assert_array_equal(aft[1], fore[1] + 1)
    np.testing.assert_array_equal(split.axial_of[aft[1]], fore[1])
    assert split.moving_count == cells.moving_count + 3


@pytest.mark.parametrize("seed", range(8))
def test_what_touches_presses_and_what_is_apart_does_not(seed):
    """The three conditions alone; for a positive definite matrix they have one answer."""
    rng = np.random.default_rng(seed)
    for size in range(1, 13):
        root = rng.normal(size=(50, size, size))
        compliance = root @ root.transpose(0, 2, 1) + 1e-3 * np.eye(size)
        opening = rng.normal(size=(50, size))
        force, touch = touching(compliance, opening=opening)
        apart = (compliance @ force[..., None])[..., 0] + opening
        scale = 1e-8 * np.abs(opening).max()
        assert force.min() >= 0.0
        assert apart.min() > -scale
        assert not force[~touch].any()
        assert np.abs(apart[touch]).max(initial=0.0) < scale


def test_a_fit_of_no_offset_is_the_bonded_joint(fitted):
    loads = {"outline_pressure": 3e5, "acceleration": 100.0, "heat": (0.0, 80.0)}
    bonded, named = fitted(None, **loads), fitted(0.0, **loads)
    np.testing.assert_array_equal(bonded.fields.total, named.fields.total)
    np.testing.assert_array_equal(bonded.fields.primary_movement, named.fields.primary_movement)
    assert not bonded.fields.contact_force.any()
    assert not bonded.fields.assembled.any()


@pytest.mark.parametrize("spigot", list(Spigot))
def test_an_interference_presses_the_spigot_in_and_what_is_around_it_out(fitted, spigot):
    tube = fitted(1e-5, spigot=spigot, restraint=Restraint.FREE)
    inside, around = sides(tube)[:: -1 if spigot is Spigot.AFT else 1]
    assert inside.max() < 0.0 < around.min()
    np.testing.assert_allclose((around - inside)[:-1], 1e-5, rtol=1e-9)
    # the corner at the bore gapes a little: nothing pulls it shut
    assert 1e-5 < around[-1] - inside[-1] < 1.02e-5
    np.testing.assert_allclose(inside, -around, rtol=1e-8)
    assert tube.fields.contact_force[0, 0] > 0.0


def test_a_discs_interference_grows_with_its_radius(fitted):
    """Two equal rods end to end take half of it each, as the mirror image shows."""
    tube = fitted(1e-5, inner=0.0, restraint=Restraint.FREE)
    fore, aft = sides(tube)
    np.testing.assert_allclose(fore, 0.5e-5 * tube.points[16, :, 0] / RIM, rtol=1e-7, atol=1e-20)
    np.testing.assert_allclose(aft, -fore, rtol=1e-8)


def test_a_gap_closes_when_the_hot_spigot_has_grown_by_it(fitted):
    """The rim grows first: alpha dT r = the gap, 23.6e-6 x 60 K x 24 mm = 33.98 um."""
    gap = 23.6e-6 * 60.0 * RIM
    before, after = (fitted(-gap, heat=(0.0, heat)) for heat in (60.0 - 1e-3, 60.0 + 1e-3))
    assert not before.fields.contact_force.any()
    assert np.abs(before.fields.total).max() < 1.0
    assert after.fields.contact_force[0, 0] > 0.0
    fore, aft = sides(after)
    assert fore[0] > 0.0
    assert fore[-1] < aft[-1] < fore[-1] + gap


def test_a_gap_that_stays_open_leaves_each_part_to_itself(fitted):
    tube = fitted(-1e-3, outline_pressure=3e5, heat=(40.0, 0.0))
    assert not tube.fields.contact_force.any()
    np.testing.assert_array_equal(sides(tube)[0] > sides(tube)[1], True)


def test_the_loads_alone_know_nothing_of_the_interference(fitted):
    assert not np.abs(fitted(1e-5).fields.primary).any()


def test_where_all_touches_the_loads_are_carried_as_by_a_bonded_joint(fitted):
    loads = {"outline_pressure": 3e5, "acceleration": 100.0}
    pressed, bonded = fitted(1e-4, **loads), fitted(None, **loads)
    np.testing.assert_allclose(pressed.fields.primary, bonded.fields.primary, rtol=1e-6, atol=1.0)


def test_the_shell_put_together_has_the_interferences_stress_alone(fitted):
    tube, alone = fitted(1e-5, outline_pressure=3e5, heat=(0.0, 80.0)), fitted(1e-5)
    np.testing.assert_allclose(tube.fields.assembled, alone.fields.total[0], atol=1e-2)
    np.testing.assert_allclose(tube.fields.assembled_movement, alone.fields.total_movement[0], atol=1e-14)
    np.testing.assert_allclose(tube.fields.assembled_contact, alone.fields.contact_force[0], rtol=1e-9)
    assert np.abs(tube.fields.assembled).max() > 1e6


def test_a_joint_and_the_aft_face_carry_the_push_of_what_is_ahead(fitted):
    """Weight ahead of them, 2700 kg/m3 of pi (24^2 - 20^2) mm2, 20 and 40 mm of it, at 500 m/s2."""
    weight = 2700.0 * np.pi * (0.024**2 - 0.02**2) * 0.02 * 500.0
    for offset in (None, 1e-5, -1e-5):
        fields = fitted(offset, acceleration=500.0, heat=(0.0, 90.0)).fields
        np.testing.assert_allclose(fields.joint_force, [[-weight]], rtol=1e-9)
        np.testing.assert_allclose(fields.aft_force, [-2.0 * weight], rtol=1e-9)


def test_a_shell_held_at_both_faces_shares_the_push_between_them(fitted):
    weight = 2700.0 * np.pi * (0.024**2 - 0.02**2) * 0.02 * 500.0
    fields = fitted(None, acceleration=500.0, restraint=Restraint.BOTH_FACES).fields
    np.testing.assert_allclose(fields.joint_force, 0.0, atol=1e-6 * weight)
    np.testing.assert_allclose(fields.aft_force, [-weight], rtol=1e-6)
