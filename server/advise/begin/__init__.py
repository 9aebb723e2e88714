"""From a few choices to a house that can be run: the guided start, without its pages."""
