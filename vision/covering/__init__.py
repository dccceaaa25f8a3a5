"""Where faces are that must not be shown, and the outlines of covers."""
