"""Where in the study's file a mistake is; apart from ``cli/answers``, so that help stays quick."""

from collections.abc import Iterator
from contextlib import contextmanager

from optitip.errors import DesignFailure, Mistake, OutOfRange, UserMistakes
from optitip.inputs.schema import is_study_key


@contextmanager
def placed_in(file: str) -> Iterator[None]:
    """Name the study's file before each bare key a mistake is placed at: ``study.toml, tip.band.length``."""

    def placed(place: str) -> str:
        return f"{file}, {place}" if is_study_key(place) else place

    try:
        yield
    except UserMistakes as error:
        raise UserMistakes(
            Mistake(placed(one.place), one.problem, one.remedy) for one in error.mistakes
        ) from None
    except DesignFailure as error:
        raise DesignFailure(error.outcome, place=placed(error.place), detail=error.detail) from None
    except OutOfRange as error:
        one = error.mistake
        raise OutOfRange(placed(one.place), one.problem, one.remedy) from None
