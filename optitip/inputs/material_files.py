"""Finding and reading materials/*.toml: which materials there are, and a checked record of each."""

import difflib
import re
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path

from pydantic import ValidationError

import optitip
from optitip.errors import Mistake, UserMistakes
from optitip.inputs.material_records import MaterialRecord
from optitip.units import UnitError

_PACKAGE = Path(optitip.__file__).parent
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._-]{0,59}")


def material_folder() -> Path:
    """Return the folder of the materials that come with the package, installed or in its source tree."""
    inside = _PACKAGE / "materials"
    return inside if inside.is_dir() else _PACKAGE.parent / "materials"


def material_files(folder: str | Path | None = None) -> dict[str, Path]:
    """Return the file of each material by name; one in the user's ``folder`` hides the package's own."""
    files: dict[str, Path] = {}
    for place in (material_folder(), *([Path(folder)] if folder is not None else [])):
        here = sorted(place.glob("*.toml")) if place.is_dir() else []
        for path in here:
            files = {name: old for name, old in files.items() if _key(name) != _key(path.stem)}
            files[path.stem] = path
    return dict(sorted(files.items(), key=lambda item: _key(item[0])))


def read_material(name: str, *, folder: str | Path | None = None) -> tuple[str, MaterialRecord]:
    """Return the name and the record of a material; case, spaces, hyphens and underscores don't matter.

    A file in the user's ``folder`` comes before the package's own. Raises ``UserMistakes``.

    >>> read_material("Egg white")[0]
    'egg-white'
    """
    files = material_files(folder)
    found = next((known for known in files if _key(known) == _key(name)), None)
    if found is None:
        raise UserMistakes.one(*_unknown(name, files))
    return found, _record(files[found])


def _key(name: str) -> str:
    return re.sub(r"[\s_-]+", "-", name.strip()).casefold()


def _unknown(name: str, files: Mapping[str, Path]) -> tuple[str, str, str]:
    if not _NAME.fullmatch(name.strip()):
        remedy = "Name a material, not a file: 'optitip materials' lists them"
        return "material", f"'{name[:60]}' can't be a material's name", remedy
    keys = {_key(known): known for known in files}
    near = difflib.get_close_matches(_key(name), keys, n=3, cutoff=0.5)
    inside = [key for key in keys if _key(name) in key and key not in near]
    likely = ", ".join(f"'{keys[key]}'" for key in [*inside, *near][:3])
    remedy = f"Did you mean {likely}? 'optitip materials' lists them all"
    return (
        "material",
        f"there is no material '{name}'",
        remedy if likely else "'optitip materials' lists them",
    )


def _record(path: Path) -> MaterialRecord:
    place = f"{path.parent.name}/{path.name}"
    try:
        raw = tomllib.loads(path.read_bytes().decode("utf-8-sig"))
        return MaterialRecord.model_validate(raw)
    except OSError as error:
        problem = f"the file can't be read ({error.strerror})"
        raise UserMistakes.one(place, problem, "Give a file you may read") from None
    except UnicodeDecodeError:
        raise UserMistakes.one(place, "this is no text in UTF-8", "Save the file as UTF-8") from None
    except tomllib.TOMLDecodeError as error:
        raise UserMistakes.one(place, f"{error}", "Put the line right; text needs quotes") from None
    except ValidationError as error:
        raise UserMistakes(_mistakes(error, place)) from None


def _mistakes(error: ValidationError, file: str) -> Iterator[Mistake]:
    for item in error.errors():
        parts = [str(part) for part in item["loc"] if part != "[key]"]
        place = f"{file}: {'.'.join(parts)}" if parts else file
        cause = item.get("ctx", {}).get("error")
        if isinstance(cause, UnitError):
            yield Mistake(place, cause.problem, cause.remedy)
        elif item["type"] == "extra_forbidden":
            yield Mistake(place, "this key is unknown", "Take it out, or look at its spelling")
        elif item["type"] == "missing":
            yield Mistake(place, "this key is missing", "Add it")
        elif item["type"] == "literal_error":
            expected = item["ctx"]["expected"]
            yield Mistake(place, f"{item['input']!r} is none of the choices", f"Write one of {expected}")
        else:
            said = item["msg"][:1].lower() + item["msg"][1:]
            yield Mistake(place, f"{item['input']!r}: {said}", "Put the value right")
