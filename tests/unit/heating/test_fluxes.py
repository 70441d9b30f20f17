"""Film and recovery temperature from heat fluxes at stated walls."""

import numpy as np
import pytest

from optitip.errors import UserMistakes
from optitip.heating.fluxes import film_and_recovery, film_of_flux

RNG = np.random.default_rng(4)


def test_a_flux_made_from_a_film_gives_that_film_back_cooling_or_heating():
    film, recovery = RNG.uniform(5.0, 2000.0, 40), RNG.uniform(300.0, 900.0, 40)
    wall = recovery + RNG.choice([-200.0, -1.0, 1.0, 200.0], 40)
    assert film_of_flux(film * (recovery - wall), recovery=recovery, wall=wall) == pytest.approx(film)


def test_a_flux_without_a_difference_of_temperature_is_refused_and_none_is_a_film_of_zero():
    with pytest.raises(UserMistakes, match=r"rig\.csv: in row 2: a heat flux where recovery and wall"):
        film_of_flux([1e4, 1e3], recovery=[500.0, 300.2], wall=[300.0, 300.0], place="rig.csv")
    assert film_of_flux([1e4, 0.0], recovery=[500.0, 300.0], wall=[300.0, 300.0]).tolist() == [50.0, 0.0]


def test_a_flux_from_the_colder_to_the_hotter_is_refused():
    with pytest.raises(UserMistakes, match="from the colder to the hotter"):
        film_of_flux([1e4, -1e4], recovery=[500.0, 500.0], wall=[300.0, 300.0])


def test_a_flux_that_would_take_an_absurd_film_is_refused():
    with pytest.raises(UserMistakes, match="a film coefficient above 1e\\+06"):
        film_of_flux([1e9], recovery=[301.0], wall=[300.0])


def fluxes(film, recovery, walls):
    """Return the rows of every place at every wall, shuffled."""
    place = np.repeat(np.arange(film.size), len(walls))
    wall = np.tile(walls, film.size)
    order = RNG.permutation(place.size)
    flux = film[place] * (recovery[place] - wall)
    return {"heat_flux": flux, "wall": wall, "time": place // 4 * 0.5, "arc_length": place % 4 * 0.01}, order


@pytest.mark.parametrize("walls", [(300.0, 420.0), (280.0, 300.0, 500.0)])
def test_two_walls_or_more_give_film_and_recovery_back(walls):
    film, recovery = RNG.uniform(5.0, 2000.0, 12), RNG.uniform(250.0, 1500.0, 12)
    rows, order = fluxes(film, recovery, walls)
    solved = film_and_recovery(**{key: values[order] for key, values in rows.items()})
    assert solved.film == pytest.approx(film)
    assert solved.recovery == pytest.approx(recovery)
    assert rows["time"][order][solved.row] == pytest.approx(np.arange(12) // 4 * 0.5)
    assert solved.misfit < 1e-6


def test_what_no_straight_line_fits_is_told_by_its_misfit():
    same = {"wall": [300.0, 400.0, 500.0], "time": [0.0] * 3, "arc_length": [0.0] * 3}
    assert film_and_recovery([3e4, 2e4, 1e4], **same).misfit == pytest.approx(0.0, abs=1e-6)
    assert film_and_recovery([3e4, 2.3e4, 1e4], **same).misfit == pytest.approx(2e3)


def test_places_without_any_flux_have_a_film_of_zero():
    solved = film_and_recovery(
        [0.0, 0.0, 9e3, 6e3], wall=[300.0, 400.0] * 2, time=[0.0, 0.0, 1.0, 1.0], arc_length=[0.0] * 4
    )
    assert solved.film.tolist() == pytest.approx([0.0, 30.0])
    assert solved.recovery.tolist() == pytest.approx([350.0, 600.0])


@pytest.mark.parametrize(
    ("flux", "wall", "said"),
    [
        ([3e4, 2e4], [300.0, 300.0], "at one wall temperature alone"),
        ([2e4, 3e4], [300.0, 400.0], "does not fall as the wall gets hotter"),
        ([2e4, 2e4], [300.0, 400.0], "does not fall as the wall gets hotter"),
        ([2e4, 1.99e4], [300.0, 400.0], "would vanish at no wall between 0 and 5000 K"),
    ],
)
def test_fluxes_that_tell_no_film_are_refused_with_their_place(flux, wall, said):
    with pytest.raises(UserMistakes, match=rf"rig.csv: at 2 s and 30 mm: .*{said}"):
        film_and_recovery(flux, wall=wall, time=[2.0] * 2, arc_length=[0.03] * 2, place="rig.csv")
