"""A material of the user's own, beside the study, travels with a run and with an exported design."""

import json
import shutil
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_a_study_with_its_own_metal_is_swept_exported_and_checked(optitip, copied, tmp_path):
    study = copied(
        "coastal-egg",
        ('material = "6061-T6"', 'material = "shop-bar"'),
        ('["6061-T6", "304"]', '["shop-bar"]'),
    )
    (study / "materials").mkdir()
    shutil.copy(ROOT / "materials" / "6061-T6.toml", study / "materials" / "shop-bar.toml")
    run = tmp_path / "run"
    done = optitip("sweep", study, "--out", run, "--evaluations", "8", "--workers", "1")
    assert done.returncode == 0, done.stderr
    assert (run / "materials" / "shop-bar.toml").is_file()
    shutil.rmtree(study)
    name = (run / "front.csv").read_text().splitlines()[1].split(",")[0]
    assert optitip("export", run, name, "--out", tmp_path / "part").returncode == 0
    checked = optitip("check", tmp_path / "part", "--json")
    assert checked.returncode == 0, checked.stderr
    assert json.loads(checked.stdout)["metrics"]["shell.mass"]["expected"] > 0.0
