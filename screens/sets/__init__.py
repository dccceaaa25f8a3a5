"""Teaching sets: built, keyed, read by experts, published, printed and shared."""
