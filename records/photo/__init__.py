"""Photos and what software read off them: stored without metadata, under random names, wherever the school keeps files."""
