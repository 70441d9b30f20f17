"""A design for the lathe: its section as DXF, its coordinate table, and the design as a study of its own."""

from collections.abc import Mapping
from pathlib import Path

from optitip import __version__
from optitip.evaluate.building import Tip, build_tip
from optitip.export.coordinates import write_coordinates
from optitip.export.dxf import Title, write_dxf
from optitip.export.files import write_bytes
from optitip.export.section import Materials, TipSection, tip_section
from optitip.export.study_file import write_design_study
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.geometry.shell import shell_profile
from optitip.inputs.study import OWN_MATERIALS, Study


def export_design(
    study: Study, *, design: Mapping[str, object], design_id: str, folder: Path
) -> tuple[list[Path], TipSection]:
    """Write a design's section, coordinates and study into ``folder``; return the files and the section.

    ``study`` has the design's values set already; ``design`` names the keys that were free.
    """
    tip = build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)
    section = section_of(tip)
    files = [
        write_design_study(
            study.raw,
            design=design,
            inputs=study.files(),
            study_title=study.title,
            design_id=design_id,
            version=__version__,
            folder=folder,
        ),
        write_dxf(
            section.profiles,
            title=Title(design=design_id, study=study.title, version=__version__),
            folder=folder,
        ),
        write_coordinates(section.outer, section.inner, folder=folder),
    ]
    for path in study.own_materials():
        write_bytes(folder / OWN_MATERIALS, path.name, path.read_bytes())
    return files, section


def section_of(tip: Tip) -> TipSection:
    """Return the section of a built tip, its parts named by their materials."""
    table, sample = tip.tables.tip, tip.tables.sample
    return tip_section(
        shell_profile(tip.cavity),
        materials=Materials(
            shell=table.material,
            insert=table.plug.material,
            base=table.base.material,
            slab=sample.material,
            backing=sample.backing.material if sample.backing else "backing",
        ),
        slab_share=sample.slab.share,
    )
