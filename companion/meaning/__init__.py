"""Which of the things that may be meant was said: values that are typed, and steps talked through in own words."""
