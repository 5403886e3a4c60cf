"""The session: hear, match, step, write down, then speak."""
