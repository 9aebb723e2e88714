"""Demand worksheets of dwellings, itemised so that each line can be checked by hand."""
