"""One SQLite file for many sessions: what was said and found in all of them, searched together, and packages for keeping."""
