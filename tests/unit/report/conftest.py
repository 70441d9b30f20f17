"""Lets tests and their worker processes import the invented problems by name."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2] / "problems"))
