"""What a person writes: the study file, material tables and CSV tables, checked."""
