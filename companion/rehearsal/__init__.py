"""Rehearsing: talking a procedure through with cues, or from memory, and learning from it over time."""
