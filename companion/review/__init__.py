"""Reading sessions back: one record -> a timeline. Needs neither sound nor engines."""
