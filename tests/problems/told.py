"""What reading a study says of its mistakes."""

import pytest

from optitip.errors import UserMistakes
from optitip.inputs.study import read_study


def problems(path):
    with pytest.raises(UserMistakes) as caught:
        read_study(path)
    return [str(mistake) for mistake in caught.value.mistakes]
