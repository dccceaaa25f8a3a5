"""Every error that this package raises on purpose; `str()` of each is one sentence for a person.

RecordsError
├── InvalidRecord        a value handed in breaks a rule, such as an empty title or a round that is neither 1 nor 2
├── NotFound             there is no such photo, attempt or consent, or it is gone
├── NotAllowed           it belongs to someone else
├── ConsentRefused       the consent on record does not cover this use today
│   ├── ConsentMissing     no consent, no doll declaration, or not for this use or this day
│   ├── ConsentExpired     its last day is over
│   └── ConsentWithdrawn   it was withdrawn; the photo is gone
├── NotReady             a draft cannot be published yet; `faults` holds every reason
├── BundleRefused        a bundle from elsewhere breaks a rule; nothing of it was taken in
├── StaleWrite           someone (another tab) saved in between; nothing was overwritten
├── AlreadyHandedIn      what is handed in no longer changes
├── NothingToHandIn      no answers have been saved yet
├── KeyHidden            the reference key is shown only after handing in
├── NotSignedIn          nobody is signed in here, or no longer
├── SignInRefused        name and password, or a code, do not match anything here
├── TooManyTries         too many went wrong; one has to wait
├── NoRoom               the disk is nearly full, or a person's or the school's share of it is used up; nothing was stored
├── BackupRefused        a backup is damaged, from a newer version, or its place is taken; nothing was restored
└── StorageFault         the data folder or the database cannot be read or written
"""


class RecordsError(Exception):
    """Base of all errors of this package; `str()` is one sentence that can be shown to a person."""


class InvalidRecord(RecordsError, ValueError):
    """A value that should be stored breaks a rule."""


class NotFound(RecordsError, LookupError):
    """There is no such record, or it is gone."""


class NotAllowed(RecordsError):
    """The record belongs to someone else."""


class ConsentRefused(RecordsError):
    """The consent on record does not cover this use today."""


class ConsentMissing(ConsentRefused):
    """There is no consent or declaration that covers this use today."""


class ConsentExpired(ConsentRefused):
    """The last day of the consent is over."""


class ConsentWithdrawn(ConsentRefused):
    """The consent was withdrawn."""


class NotReady(RecordsError):
    """A draft cannot be published yet; `faults` holds every reason, one sentence each."""

    def __init__(self, faults: tuple[str, ...]) -> None:
        n = len(faults)
        things = "one thing stands" if n == 1 else f"{n} things stand"
        super().__init__(f"The set was not published, because {things} against it: {' '.join(faults)}")
        self.faults = faults


class BundleRefused(RecordsError):
    """A bundle from elsewhere breaks a rule; nothing of it was taken in."""


class StaleWrite(RecordsError):
    """Someone saved in between; nothing was overwritten."""


class AlreadyHandedIn(RecordsError):
    """What is handed in no longer changes."""


class NothingToHandIn(RecordsError):
    """No answers have been saved yet."""


class KeyHidden(RecordsError):
    """The reference key is shown only after handing in."""


class NotSignedIn(RecordsError):
    """Nobody is signed in here, or no longer."""


class SignInRefused(RecordsError):
    """Name and password, or a code, do not match anything here."""


class TooManyTries(RecordsError):
    """Too many tries went wrong; one has to wait."""


class NoRoom(RecordsError):
    """What should be stored is more than there is room for; nothing was stored."""


class BackupRefused(RecordsError):
    """A backup is damaged, or there is no room for it; nothing was restored."""


class StorageFault(RecordsError):
    """The data folder or the database cannot be read or written."""
