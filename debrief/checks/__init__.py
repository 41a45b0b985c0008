"""Rows and plan to check results, certainty and the listening list."""
