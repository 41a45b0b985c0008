"""One SQLite file a session: every pass, every row, every edit."""
