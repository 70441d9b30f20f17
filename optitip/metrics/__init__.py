"""Fields to the few numbers a designer compares."""
