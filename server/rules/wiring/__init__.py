"""Wiring answers: ampacity, overcurrent, drop, grounding and raceway of a run of wire."""
