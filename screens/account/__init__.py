"""People and their accounts, and everyone's own data."""
