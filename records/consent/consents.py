"""The consent ledger: who agreed to what, until when, and whether it covers a use today."""

import secrets
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from sqlalchemy.orm import Session

from records.errors import (
    ConsentExpired,
    ConsentMissing,
    ConsentRefused,
    ConsentWithdrawn,
    InvalidRecord,
    NotAllowed,
    NotFound,
)
from records.identity.people import Person, Role, holds
from records.models import ClassRow, ConsentRow, MemberRow
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
    class_id : str or None
        The one class that the scope OWN_CLASS means; None: whichever class is given the photo.
    authority : str
        For a child: who has authority for it, in what relation; empty where no child is shown.

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
    class_id: str | None = None
    authority: str = ""

    def __post_init__(self) -> None:
        required_text("the label of who is shown", self.shown)
        required_text("who gave the consent", self.given_by)
        required_text("the version of the consent form", self.form_version)
        if self.authority.strip():
            required_text("who has authority for the child", self.authority)
        if self.class_id is not None and Scope.OWN_CLASS not in self.scopes:
            raise InvalidRecord("A consent that names a class covers its use in that class.")
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
    class_id: str | None = None
    authority: str | None = None


_SCOPE_WORDS = {
    Scope.OWN_PRACTICE: "practising on this computer",
    Scope.OWN_CLASS: "a class",
    Scope.TEACHING_SETS: "teaching sets",
    Scope.PRINTED: "printed or exported material",
}


def own_consent(session: Session, person: Person, consent_id: str) -> ConsentRow:
    """The row of one of this person's consents. Raises NotFound, NotAllowed."""
    row = session.get(ConsentRow, consent_id)
    if row is None:
        raise NotFound("There is no such consent on record.")
    if row.recorded_by != person.id:
        raise NotAllowed("This consent was put on record by someone else.")
    return row


def oversees(session: Session, person: Person) -> bool:
    """Whether the person looks after everyone's consents."""
    return holds(session, person.id, Role.EDUCATOR)


def check_class(session: Session, person: Person, consent: NewConsent | DollDeclaration) -> None:
    """Return where a consent names no class, or one that the person is in or oversees. Raises NotFound, NotAllowed."""
    if isinstance(consent, DollDeclaration) or consent.class_id is None:
        return
    if session.get(ClassRow, consent.class_id) is None:
        raise NotFound("There is no such class.")
    member = session.get(MemberRow, (consent.class_id, person.id))
    if (member is None or member.left_at is not None) and not oversees(session, person):
        raise NotAllowed("You are not in this class.")


def new_row(store: Store, recorded_by: str | None, consent: NewConsent | DollDeclaration) -> ConsentRow:
    """A row for the ledger, not yet in it."""
    row = ConsentRow(id=secrets.token_hex(16), recorded_by=recorded_by, recorded_at=store.now())
    row.shown = consent.shown.strip()
    if isinstance(consent, DollDeclaration):
        row.kind, row.given_by, row.form_version = Kind.DOLL.value, "no person is shown", "doll declaration"
        row.scopes, row.faces_covered = [scope.value for scope in Scope], False
        row.given_on, row.expires_on = store.today(), None
    else:
        row.kind, row.given_by = Kind.PERSON.value, consent.given_by.strip()
        row.form_version = consent.form_version.strip()
        row.scopes, row.faces_covered = sorted(scope.value for scope in consent.scopes), consent.faces_covered
        row.given_on, row.expires_on = consent.given_on, consent.expires_on
        row.class_id, row.authority = consent.class_id, consent.authority.strip() or None
    return row


def record_of(row: ConsentRow) -> ConsentRecord:
    """The row as the rest of the program sees it."""
    return ConsentRecord(
        id=row.id,
        kind=Kind(row.kind),
        shown=row.shown,
        given_by=row.given_by,
        scopes=frozenset(Scope(scope) for scope in row.scopes),
        faces_covered=row.faces_covered,
        given_on=row.given_on,
        expires_on=row.expires_on,
        form_version=row.form_version,
        withdrawn_on=row.withdrawn_on,
        class_id=row.class_id,
        authority=row.authority,
    )


def refusal(row: ConsentRow, use: Scope, today: date, classes: frozenset[str] = frozenset()) -> ConsentRefused | None:
    """Why this consent does not cover that use on that day; None where it does. The last day still counts.

    For the use OWN_CLASS, `classes` are the classes that ask; a consent that names one class covers that one only.
    """
    if row.withdrawn_on is not None:
        return ConsentWithdrawn(f"The consent for this photo was withdrawn on {row.withdrawn_on}.")
    if use.value not in row.scopes:
        return ConsentMissing(f"The consent on record does not cover {_SCOPE_WORDS[use]}.")
    if use == Scope.OWN_CLASS and row.class_id is not None and row.class_id not in classes:
        return ConsentMissing("The consent on record covers another class, not this one.")
    if row.kind == Kind.PERSON and today < row.given_on:
        return ConsentMissing(f"The consent on record starts on {row.given_on} only.")
    if row.expires_on is not None and today > row.expires_on:
        return ConsentExpired(f"The consent for this photo ended on {row.expires_on}.")
    return None
