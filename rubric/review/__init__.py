"""The review of a class as numbers: table, figures, findings, patterns, angles, points, what to teach next."""
