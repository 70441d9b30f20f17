"""Areas of threads against printed tables: what tears, and what strips.

Source: ISO 898-1, nominal stress areas of coarse threads M3 to M39; ASME B1.1, stress areas of UNF and UNC
(handbooks' tables of both); stripping areas 6g in 6H, one diameter engaged: Bickford, Introduction to the
Design and Behavior of Bolted Joints, 4th edition (as a page of tables quotes it).
Tolerance: half a unit of the last digit printed for what tears, Unified 0.2 % too (printed from rounded
diameters); 0.8 % for what strips (the tolerances of ISO 965-1 are rounded in its tables, reckoned here).
"""

import pytest

from optitip.properties.threads import UNC, UNF, thread_of

TEARING = {
    "M3": "5.03", "M3.5": "6.78", "M4": "8.78", "M5": "14.2", "M6": "20.1", "M7": "28.9", "M8": "36.6",
    "M10": "58.0", "M12": "84.3", "M14": "115", "M16": "157", "M18": "192", "M20": "245", "M22": "303",
    "M24": "353", "M27": "459", "M30": "561", "M33": "694", "M36": "817", "M39": "976",
}  # fmt: skip
# square inches
TEARING_UNF = {
    "#0": "0.00180", "#1": "0.00278", "#2": "0.00394", "#3": "0.00523", "#4": "0.00661", "#5": "0.00830",
    "#6": "0.01015", "#8": "0.01474", "#10": "0.0200", "#12": "0.0258", "1/4": "0.0364", "5/16": "0.0580",
    "3/8": "0.0878", "7/16": "0.1187", "1/2": "0.1599", "9/16": "0.203", "5/8": "0.256", "3/4": "0.373",
    "7/8": "0.509", "1": "0.663", "1 1/8": "0.856", "1 1/4": "1.073", "1 3/8": "1.315", "1 1/2": "1.581",
}  # fmt: skip
TEARING_UNC = {
    "#4": "0.00604", "#6": "0.00909", "#8": "0.0140", "#10": "0.0175", "1/4": "0.0318", "5/16": "0.0524",
    "3/8": "0.0775", "7/16": "0.1063", "1/2": "0.1419", "5/8": "0.226", "3/4": "0.334", "7/8": "0.462",
    "1": "0.606",
}  # fmt: skip
# mm2: external, internal
STRIPPING = {
    "M5": (35.366, 49.994), "M6": (51.875, 73.145), "M8": (97.290, 134.63), "M10": (155.80, 214.77),
    "M12": (227.72, 313.41), "M14": (313.94, 434.47), "M16": (417.55, 569.12), "M20": (665.58, 907.76),
    "M24": (971.10, 1320.2), "M27": (1246.7, 1674.3), "M30": (1549.2, 2086.5), "M36": (2271.5, 3026.2),
    "M42": (3120.2, 4168.3), "M48": (4119.5, 5482.0), "M56": (5680.3, 7510.2), "M64": (7483.6, 9847.3),
    "M72x6": (9574.2, 12478.0), "M80x6": (11922.0, 15419.0), "M100x6": (18856.0, 24059.0),
}  # fmt: skip


def half_a_digit(printed):
    return 0.51 * 10.0 ** -len(printed.partition(".")[2])


@pytest.mark.parametrize(("text", "printed"), TEARING.items())
def test_the_stress_area_of_a_coarse_metric_thread_is_the_printed_one(text, printed):
    assert thread_of(text).tensile_area * 1e6 == pytest.approx(float(printed), abs=half_a_digit(printed))


@pytest.mark.parametrize(("size", "printed"), TEARING_UNF.items())
def test_the_stress_area_of_a_unf_thread_is_the_printed_one(size, printed):
    area = thread_of(f"{size}-{UNF[size]} UNF").tensile_area / 0.0254**2
    assert area == pytest.approx(float(printed), rel=2e-3, abs=half_a_digit(printed))


@pytest.mark.parametrize(("size", "printed"), TEARING_UNC.items())
def test_the_stress_area_of_a_unc_thread_is_the_printed_one(size, printed):
    area = thread_of(f"{size}-{UNC[size]} UNC").tensile_area / 0.0254**2
    assert area == pytest.approx(float(printed), rel=2e-3, abs=half_a_digit(printed))


@pytest.mark.parametrize(("text", "areas"), STRIPPING.items())
def test_the_areas_that_strip_are_the_printed_ones(text, areas):
    thread = thread_of(text)
    found = (thread.external_shear_area(thread.major) * 1e6, thread.internal_shear_area(thread.major) * 1e6)
    assert found == pytest.approx(areas, rel=8e-3)
