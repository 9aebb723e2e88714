"""Where sites live: their parts in tables, every edit in a history, on SQLite or PostgreSQL."""
