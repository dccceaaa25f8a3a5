"""Properties are about answers, not about speed: a machine that many share may take its time."""

from hypothesis import settings

settings.register_profile("no deadline", deadline=None)
settings.load_profile("no deadline")
