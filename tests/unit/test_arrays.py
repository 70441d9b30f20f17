import numpy as np

from optitip.arrays import frozen, frozen_index, read_only


def test_what_is_frozen_already_is_not_copied_again():
    once = frozen([1.0, 2.0])
    assert frozen(once) is once
    assert frozen(once[:1]).base is once
    index = frozen_index([1, 2])
    assert frozen_index(index) is index


def test_an_array_that_somebody_can_still_write_to_is_copied():
    held = np.ones(3)
    view = held[:]
    view.flags.writeable = False
    kept = frozen(view)
    held[:] = 7.0
    assert kept.tolist() == [1.0, 1.0, 1.0]


def test_what_is_of_another_type_or_order_is_copied():
    assert frozen(frozen_index([3])).dtype == np.float64
    assert frozen_index(frozen([3.0])).dtype == np.int64
    turned = frozen(np.arange(6.0).reshape(2, 3)).T
    assert frozen(turned).flags.c_contiguous


def test_an_array_just_made_is_handed_on_as_it_is():
    made = np.ones(2)
    assert read_only(made) is made
    assert frozen(made) is made
