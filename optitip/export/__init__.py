"""A chosen design as files for the lathe and for other programs."""
