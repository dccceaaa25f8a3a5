"""What is measured, each in a module of its own: gape, body line, gaps at the breast, direction of the head."""
