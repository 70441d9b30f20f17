"""A docstring of public physics has unit, valid range, source and example; no comment leaves the tree.

What a machine can see of it: the first line says what is returned, the words are there, a unit stands in
brackets, an example runs. Whether the equation is the source's own is for the tests of the physics.
"""

import ast
import io
import re
import tokenize
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "optitip"

EVERY_FUNCTION = None
PHYSICS = {
    "properties/air.py": EVERY_FUNCTION,
    "properties/endurance.py": EVERY_FUNCTION,
    "properties/food.py": EVERY_FUNCTION,
    "properties/threads.py": {"Thread.external_shear_area", "Thread.internal_shear_area"},
    "properties/water.py": EVERY_FUNCTION,
    "flight/atmosphere.py": EVERY_FUNCTION,
    "flight/turning.py": EVERY_FUNCTION,
    "geometry/assembly.py": {"seat_depth"},
    "geometry/boring.py": EVERY_FUNCTION,
    "geometry/families.py": EVERY_FUNCTION,
    "geometry/probing.py": EVERY_FUNCTION,
    "heating/compressible.py": EVERY_FUNCTION,
    "heating/cone_flow.py": EVERY_FUNCTION,
    "heating/edge.py": EVERY_FUNCTION,
    "heating/film.py": EVERY_FUNCTION,
    "heating/fluxes.py": EVERY_FUNCTION,
    "heating/integrals.py": EVERY_FUNCTION,
    "heating/pressure.py": EVERY_FUNCTION,
    "heating/reference.py": EVERY_FUNCTION,
    "heating/shock_expansion.py": EVERY_FUNCTION,
    "heating/roughness.py": {"wall_units", "height_reynolds", "tripped_at"},
    "heating/van_driest.py": EVERY_FUNCTION,
    "heating/swallowing.py": EVERY_FUNCTION,
    "heating/stagnation.py": EVERY_FUNCTION,
    "heating/transition.py": EVERY_FUNCTION,
    "heating/descent.py": EVERY_FUNCTION,
    "heating/hollow.py": EVERY_FUNCTION,
    "heating/sunlight.py": EVERY_FUNCTION,
    "metrics/bending.py": EVERY_FUNCTION,
    "metrics/buckling.py": EVERY_FUNCTION,
    "metrics/cutting.py": EVERY_FUNCTION,
    "metrics/turning.py": {"arc_takes"},
    "metrics/exposure.py": {"life_share", "radial_growth"},
    "metrics/fixing.py": {
        "equivalent_force",
        "thread_strength",
        "screws_strength",
        "stiffness",
        "clamp_force",
        "opening_force",
        "rod_tension",
    },
    "metrics/outside.py": EVERY_FUNCTION,
    "metrics/pocket_pressure.py": EVERY_FUNCTION,
    "metrics/slab.py": {
        "shoulder_stress",
        "bond_shear",
        "spin_pressure",
        "pressing_force",
        "lift_off_pressure",
        "shrink_gap",
    },
    "metrics/sample.py": {"log_reduction", "set_fraction"},
    "solvers/elastic_lines.py": {"von_mises", "wall_stress"},
}

_SYMBOL = r"(?:kg|rad|Pa|m|s|K|J|W|N)\d?"
UNIT = re.compile(rf"\[(?:-|1|(?:1/)?{_SYMBOL}(?:[ /(]+{_SYMBOL}\)?)*)(?: above sea level)?\]")
EQUATION = "an equation"
NO_EQUATION = {"onset_state", "bracket"}  # choices of what to run
DUTIES = {
    "a first line that starts with 'Return'": lambda text: text.startswith("Return "),
    "the word 'Source'": lambda text: re.search(r"\bSource\b[^:\n]*: \S", text),
    "the word 'Valid'": lambda text: re.search(r"\bValid\b", text),
    "an example": lambda text: ">>> " in text,
    EQUATION: lambda text: re.search(r"\S = \S|\^", text.split(">>>")[0]),
    "the result's unit in the first paragraph, or the word 'dimensionless'": lambda text: (
        UNIT.search(text.split("\n\n")[0]) or "dimensionless" in text
    ),
}
LEAVES_THE_TREE = re.compile(
    r"\b(?:(?:REFERENCES|DESIGN|CONTRACT)\.md|TODO|FIXME|XXX)\b|/work\b|/tmp\b|(?i:\bissues?\b)|(?<![\w&])#\d{2}"
)


def public_parts(body, *, prefix=""):
    """Yield the dotted name and the node of every public function, class and method."""
    for node in body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
            yield prefix + node.name, node
            if isinstance(node, ast.ClassDef):
                yield from public_parts(node.body, prefix=f"{prefix}{node.name}.")


def physics_of(module):
    """Return the public functions, and methods that are no property, which the rule holds for."""
    wanted = PHYSICS[module]
    return {
        name: ast.get_docstring(node) or ""
        for name, node in public_parts(ast.parse((PACKAGE / module).read_text()).body)
        if isinstance(node, ast.FunctionDef)
        and not any(isinstance(mark, ast.Name) and mark.id == "property" for mark in node.decorator_list)
        and (wanted is EVERY_FUNCTION or name in wanted)
    }


def remarks(text):
    """Yield line and text of every comment and of every string that stands as a statement of its own."""
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        if token.type == tokenize.COMMENT:
            yield token.start[0], token.string
    for node in ast.walk(ast.parse(text)):
        if (
            isinstance(node, ast.Expr)
            and isinstance(node.value, ast.Constant)
            and isinstance(node.value.value, str)
        ):
            yield node.lineno, node.value.value


@pytest.mark.parametrize("module", PHYSICS)
def test_public_physics_says_its_unit_range_source_and_example(module):
    found = physics_of(module)
    assert set(PHYSICS[module] or found) == set(found) != set()
    lacking = [
        f"{name} lacks {duty}"
        for name, text in found.items()
        for duty, held in DUTIES.items()
        if not held(text) and not (duty == EQUATION and name in NO_EQUATION)
    ]
    assert not lacking, "\n".join([module, *lacking])


def test_every_public_function_and_class_says_what_it_is_in_a_sentence():
    silent = [
        f"{path.relative_to(ROOT)}: {name}"
        for path in PACKAGE.rglob("*.py")
        for name, node in public_parts(ast.parse(path.read_text()).body)
        if not (ast.get_docstring(node) or "").partition("\n")[0].endswith(".")
    ]
    assert not silent


def test_every_validation_case_names_its_source_and_its_tolerance_on_top():
    silent = [
        f"{path.name} names no {word}"
        for path in (ROOT / "tests" / "validation").glob("test_*.py")
        for word in ("source", "tolerance")
        if not re.search(
            rf"\b{word}s?\b", ast.get_docstring(ast.parse(path.read_text())) or "", re.IGNORECASE
        )
    ]
    assert not silent


def test_every_validation_case_stands_in_the_developers_table():
    table = (ROOT / "DEVELOPERS.md").read_text().partition("## Checks against something outside")[2]
    missing = [
        path.stem for path in (ROOT / "tests" / "validation").glob("test_*.py") if path.stem not in table
    ]
    assert not missing


@pytest.mark.parametrize("folder", ["optitip", "tests"])
def test_no_remark_names_what_a_reader_of_the_tree_cannot_open(folder):
    named = [
        f"{path.relative_to(ROOT)}:{line}: {remark}"
        for path in (ROOT / folder).rglob("*.py")
        for line, remark in remarks(path.read_text())
        if LEAVES_THE_TREE.search(remark)
    ]
    assert not named


@pytest.mark.parametrize(
    "text", ["h [W/(m2 K)]", "k [W/(m K)]", "z [m above sea level]", "K [1/s]", "share [1]", "cp [J/(kg K)]"]
)
def test_a_unit_is_seen(text):
    assert UNIT.search(text)


@pytest.mark.parametrize(
    "text", ["[1 + (0.4/Pr)^2/3]^-1/4", "f([1.0])", "[6 M^2/(M^2 + 5)]", "[source]", "[K + 1]"]
)
def test_what_is_no_unit_is_not_taken_for_one(text):
    assert not UNIT.search(text)
