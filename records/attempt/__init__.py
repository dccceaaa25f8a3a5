"""One person's work on one photo, from its start to handing in, and how repeatably they click."""
