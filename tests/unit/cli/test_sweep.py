from optitip.cli.sweep import _other_versions
from optitip.search.records import Stage, Stint


def _stint(number, **versions):
    return Stint(
        number=number, started=0.0, versions=versions, evaluations=None, stage=Stage.SEARCH, ended=""
    )


def test_a_run_that_goes_on_with_another_version_says_so():
    stints = [_stint(1, optitip="0.1.0", numba="none"), _stint(2, optitip="0.2.0", numba="none")]
    (line,) = _other_versions(stints)
    assert line == (
        "This run was begun with optitip 0.1.0, now 0.2.0: its figures may not all be of one kind."
    )
    assert not list(_other_versions(stints[:1]))
