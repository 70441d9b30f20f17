from dataclasses import replace

import pytest

from optitip.errors import DesignFailure, Outcome
from optitip.geometry.chain import build_cavity


def test_a_slab_that_leans_into_the_base_is_too_thick(design, outline):
    # the wall thins aft, so its normal leans aft of the surface's, past the start of the base
    full = replace(design, pocket_length=0.036, thickness_fore=0.004, aft_taper=0.0003, base_thickness=0.007)
    build_cavity(replace(full, pocket_length=0.034), outline=outline)
    with pytest.raises(DesignFailure) as caught:
        build_cavity(replace(full, slab_thickness=0.005), outline=outline)
    assert caught.value.outcome is Outcome.SLAB_TOO_THICK
    assert "into the shell" in caught.value.detail
