"""Time to altitude, speed, the air met there and the axial acceleration."""
