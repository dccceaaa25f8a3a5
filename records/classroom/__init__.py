"""Classes, the work that they are given, what students hand in, and what an instructor says to it."""
