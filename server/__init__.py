"""Threebus: an outage load planner for homes."""

__version__ = "0.1.0"
