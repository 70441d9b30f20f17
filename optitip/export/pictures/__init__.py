"""Pictures of answers: what each plot shows and how it is drawn."""
