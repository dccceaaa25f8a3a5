"""Who agreed to what, until when; and everything that ends: withdrawal, erasure, retention, and the journal of it."""
