"""Checks of the code and of good practice, over numbers kept in tables by edition."""
