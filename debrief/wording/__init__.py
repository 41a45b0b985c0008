"""Segments to interpretations: what was heard, what it is read as and why."""
