"""Many designs to the front, stored as they come."""
