"""Air and outline to film coefficient and recovery temperature along the surface."""
