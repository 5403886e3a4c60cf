"""Figures, units, dates, times and tags: how they are said and which phrases say them. Pure."""
