"""Every error that this package raises on purpose.

VisionError
├── UnreadablePhoto      the bytes are not a photo that we accept; the message is one sentence for a person
├── InvalidLandmarks     a landmark, a set of them or a landmark file breaks a rule
├── InvalidCover         an area to cover breaks a rule
├── ModelUnavailable     a detection model cannot be loaded on this machine
└── CannotDo             the command line asks for something that cannot be done, whatever the photos are

A measure that cannot be taken is no error: it is the value `vision.measures.NotMeasurable`.
"""


class VisionError(Exception):
    """Base of all errors of this package; `str()` is one sentence that can be shown to a student."""


class UnreadablePhoto(VisionError):
    """The bytes are not a photo that we accept."""


class InvalidLandmarks(VisionError, ValueError):
    """A landmark, a set of landmarks or a landmark file breaks a rule."""


class InvalidCover(VisionError, ValueError):
    """An area to cover breaks a rule."""


class ModelUnavailable(VisionError):
    """A detection model cannot be loaded on this machine."""


class CannotDo(VisionError):
    """The command line asks for something that cannot be done, whatever the photos are."""
