"""The consent ledger: who agreed to what, until when, and whether it covers a use today."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from records.errors import ConsentMissing, InvalidRecord
from records.people import Person
from records.store import Store
from records.wording import required_text


class Scope(StrEnum):
    """A use that a consent can cover."""

    OWN_PRACTICE = "own_practice"
    OWN_CLASS = "own_class"
    TEACHING_SETS = "teaching_sets"
    PRINTED = "printed"


class Kind(StrEnum):
    """A doll shows nobody; a person needs a consent."""

    DOLL = "doll"
    PERSON = "person"


@dataclass(frozen=True, kw_only=True)
class NewConsent:
    """A consent for photos of people, as it goes into the ledger.

    Parameters
    ----------
    shown : str
        A label for who is shown, such as "pair 3"; never a name. 1 to 80 characters.
    given_by : str
        In what relation the giver stands to who is shown, such as "parent with authority and adult shown".
    scopes : frozenset of Scope
        At least one.
    faces_covered : bool
        Whether the faces are covered that must not be shown.
    given_on, expires_on : date
        First and last day on which it covers anything.
    form_version : str
        Which consent form was signed.

    Raises
    ------
    InvalidRecord
        For an empty or overlong text, no scope, or a last day before the first.
    """

    shown: str
    given_by: str
    scopes: frozenset[Scope]
    faces_covered: bool
    given_on: date
    expires_on: date
    form_version: str

    def __post_init__(self) -> None:
        required_text("the label of who is shown", self.shown)
        required_text("who gave the consent", self.given_by)
        required_text("the version of the consent form", self.form_version)
        if not self.scopes:
            raise InvalidRecord("A consent names at least one use.")
        if self.expires_on < self.given_on:
            raise InvalidRecord(
                f"A consent ends on or after the day it was given, got {self.given_on}, {self.expires_on}."
            )


@dataclass(frozen=True, kw_only=True)
class DollDeclaration:
    """Someone's word that a photo shows a doll and no person.

    Parameters
    ----------
    confirmed : bool
        Has no default: somebody must have said it.
    shown : str
        A label for the doll.

    Raises
    ------
    ConsentMissing
        Where it was not confirmed.
    """

    confirmed: bool
    shown: str = "doll"

    def __post_init__(self) -> None:
        required_text("the label of the doll", self.shown)
        if not self.confirmed:
            raise ConsentMissing("A doll photo enters only once you have said that it shows a doll and no person.")


@dataclass(frozen=True, kw_only=True)
class ConsentRecord:
    """One line of the ledger. `expires_on` is None for a doll; `withdrawn_on` is None while it stands."""

    id: str
    kind: Kind
    shown: str
    given_by: str
    scopes: frozenset[Scope]
    faces_covered: bool
    given_on: date
    expires_on: date | None
    form_version: str
    withdrawn_on: date | None


def list_consents(store: Store, person: Person) -> tuple[ConsentRecord, ...]:
    """All consents that this person put on record, withdrawn ones too, oldest first."""
    raise NotImplementedError


def get_consent(store: Store, person: Person, consent_id: str) -> ConsentRecord:
    """One of this person's consents. Raises NotFound, NotAllowed."""
    raise NotImplementedError
