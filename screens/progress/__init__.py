"""A person's own way over time, and what to practise next."""
