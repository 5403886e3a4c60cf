"""Vosk, with any Vosk model."""
