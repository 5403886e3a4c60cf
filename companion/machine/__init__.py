"""The step machine: from a state and an event to a state and what to say. Pure."""
