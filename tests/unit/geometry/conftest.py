"""A tip of middling proportions that single tests bend one number of."""

import pytest

from optitip.geometry.outline import Outline, family_outline
from optitip.geometry.tip import TipDesign
from optitip.inputs.study_tables import OutlineFamily


@pytest.fixture(scope="session")
def outline() -> Outline:
    return family_outline(
        OutlineFamily.VON_KARMAN, diameter=0.054, length=0.25, turned_length=0.12, tip_radius=0.003
    )


@pytest.fixture
def design() -> TipDesign:
    return TipDesign(
        plug_length=0.03,
        plug_wall=0.003,
        plug_fillet=0.001,
        fore_taper=0.008,
        band_length=0.04,
        thickness_fore=0.001,
        thickness_aft=0.0014,
        aft_taper=0.008,
        base_thickness=0.004,
        pocket_offset=0.004,
        pocket_length=0.03,
        slab_thickness=0.003,
        slab_soft=True,
    )
