"""Simulated classes: students of known skill and bias, for tests and for the example class."""
