"""Free numbers to outline, cavity and regions, and to a mesh with named sides."""
