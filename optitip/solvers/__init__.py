"""Temperature in time, and stress, on a mesh."""
