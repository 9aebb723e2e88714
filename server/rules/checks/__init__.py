"""Panel and source checks; each returns findings."""
