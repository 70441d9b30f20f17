"""A TOML file of the user's as it is read, and what is wrong with it in one line."""

import tomllib
from pathlib import Path
from typing import Any

from optitip.errors import UserMistakes


def read_toml(path: Path, *, what: str) -> dict[str, Any]:
    """Return what a file says; raises ``UserMistakes`` if it can't be read, ``what`` is its kind in words."""
    try:
        return tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except OSError as error:
        reason = (error.strerror or "it can't be read").lower()
        raise UserMistakes.one(str(path), reason, f"Give the path of a {what}") from None
    except UnicodeDecodeError:
        raise UserMistakes.one(str(path), "this is no text in UTF-8", "Save it as UTF-8") from None
    except tomllib.TOMLDecodeError as error:
        raise UserMistakes.one(path.name, f"{error}", "Put the line right; text needs quotes") from None
