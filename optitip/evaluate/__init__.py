"""One design on one flight: where the rooms meet."""
