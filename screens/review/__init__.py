"""The review of what a class handed in: what stands out, the figures behind it, one student's work, the projector."""
