"""Backup, restoring, and checking that what is kept is what was put there."""
