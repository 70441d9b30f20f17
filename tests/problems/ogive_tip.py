"""One ogive tip with every part, from which tests of the stress take their meshes."""

from optitip.geometry.chain import build_cavity
from optitip.geometry.mesh import build_mesh
from optitip.geometry.outline import family_outline
from optitip.geometry.tip import TipDesign
from optitip.geometry.topology import Resolution
from optitip.inputs.study_tables import OutlineFamily

NUMBERS = {
    "plug_length": 0.05,
    "plug_wall": 0.004,
    "plug_fillet": 0.0,
    "fore_taper": 0.008,
    "band_length": 0.04,
    "thickness_fore": 0.0012,
    "thickness_aft": 0.0012,
    "aft_taper": 0.006,
    "base_thickness": 0.004,
    "pocket_offset": 0.005,
    "pocket_length": 0.025,
}


def tip_mesh(*, fineness=1, **changes):
    """Return the mesh of the tip with some numbers changed [m], its cells cut in ``fineness`` both ways."""
    outline = family_outline(
        OutlineFamily.TANGENT_OGIVE, diameter=0.06, length=0.25, tip_radius=0.004, turned_length=0.14
    )
    cavity = build_cavity(TipDesign(**{**NUMBERS, **changes}), outline=outline)
    return build_mesh(cavity, resolution=Resolution().refined(fineness))
