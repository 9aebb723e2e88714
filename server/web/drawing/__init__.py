"""Drawings worked out in Python as plain numbers and paths; templates only put them on paper."""
