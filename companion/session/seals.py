"""Figures under seal: given and fixed, seen by nobody until the time comes."""

import hashlib

from companion.speech.values import Value


def seal(value: Value, salt: str) -> str:
    """SHA-256 (hex) over salt and value. The salt is at least 128 random bits, so the few possible
    figures cannot be tried against it; the same salt shows that the same figure was said twice."""
    return hashlib.sha256(f"{salt}|{value.text}|{value.unit}".encode()).hexdigest()


def opens(sealed: str, value: Value, salt: str) -> bool:
    """Whether `value` is what was sealed."""
    return seal(value, salt) == sealed
