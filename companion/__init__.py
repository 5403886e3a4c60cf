"""A voice-guided companion for clinical procedures: a training aid that defers to local policy."""

__version__ = "0.1.0"
