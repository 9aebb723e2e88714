"""The supply network, load behaviour and the march through a scenario."""
