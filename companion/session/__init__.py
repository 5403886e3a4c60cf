"""What a session is made of: events, where it stands, figures under seal, findings. Pure data."""
