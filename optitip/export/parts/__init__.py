"""The parts of a tip as they are turned: curves, corners, laps, holes, dimensions, steps on the lathe."""
