"""The command line: one photo, many on several processes or machines, the scale card."""
