"""A session record told in open standards. The record stays the single source: every export can be made again."""
