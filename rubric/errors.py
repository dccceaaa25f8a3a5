"""Every error that this package raises on purpose.

RubricError
├── InvalidChecklist   a checklist file breaks rules; `faults` lists all of them
├── InvalidAnswer      an answer or a sheet of answers breaks a rule
└── InvalidRatings     a ratings table cannot be read
"""

from collections.abc import Sequence


class RubricError(Exception):
    """Base of all errors of this package; `str()` is one sentence that can be shown to a person."""


class InvalidChecklist(RubricError, ValueError):
    """A checklist file breaks rules.

    Parameters
    ----------
    faults : sequence of str
        Every fault that was found, not only the first.
    """

    def __init__(self, faults: Sequence[str]) -> None:
        self.faults = tuple(faults)
        super().__init__("the checklist has faults: " + "; ".join(self.faults))


class InvalidAnswer(RubricError, ValueError):
    """An answer or a sheet of answers breaks a rule."""


class InvalidRatings(RubricError, ValueError):
    """A ratings table cannot be read."""
