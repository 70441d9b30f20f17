"""An assessment or a search as something a person reads at a glance: one page, or a few lines."""
