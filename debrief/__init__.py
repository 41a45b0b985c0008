"""debrief: from the recorded voice loops of a crewed test to rows that carry their sound and say how sure they are."""
__version__ = "0.1.0"
