"""What a school chose for this installation, one row in the database."""

import secrets
from dataclasses import asdict, dataclass
from datetime import timedelta

from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from records.auditing.audit import append
from records.errors import InvalidRecord, StaleWrite
from records.identity.people import Person
from records.models import SettingRow
from records.rights import Right, service
from records.store import Store

#: No school can choose a shorter time without use.
SHORTEST_IDLE = timedelta(hours=1)
#: The least room for one person's files, and more than any disk that a school would put photos on.
SMALLEST_SHARE, MOST_MEGABYTES = 10, 100_000_000
_NAME = "school"
_DOOR = "door"


@dataclass(frozen=True, kw_only=True)
class Settings:
    """A school's choices.

    Parameters
    ----------
    alone_open : bool
        Whether one may practise at this computer without signing in, once accounts exist.
    idle_hours, longest_days : int
        After how long without use, and after how long at most, one has to sign in again.
    person_megabytes, total_megabytes : int
        How much room the files of one person, and of all together, may take up.
    revision : int
        Goes up with each change; 0 where nothing was chosen yet.
    """

    alone_open: bool = False
    idle_hours: int = 8
    longest_days: int = 7
    person_megabytes: int = 2_000
    total_megabytes: int = 50_000
    revision: int = 0

    def __post_init__(self) -> None:
        """Raise InvalidRecord where a number is out of range."""
        if not 1 <= self.idle_hours <= 72:
            raise InvalidRecord("Time without use is 1 to 72 hours.")
        if not 1 <= self.longest_days <= 30:
            raise InvalidRecord("The longest time signed in is 1 to 30 days.")
        if not SMALLEST_SHARE <= self.person_megabytes <= self.total_megabytes <= MOST_MEGABYTES:
            raise InvalidRecord("Room for files is at least 10 MB for one person, and for all no less than for one.")

    @property
    def idle(self) -> timedelta:
        """How long a session lives without use."""
        return timedelta(hours=self.idle_hours)

    @property
    def longest(self) -> timedelta:
        """How long a session lives at most."""
        return timedelta(days=self.longest_days)


def read_settings(store: Store) -> Settings:
    """What was chosen, or the defaults."""
    with store.reading() as session:
        return settings_in(session)


def settings_in(session: Session) -> Settings:
    """As `read_settings`, within a transaction under way."""
    row = session.get(SettingRow, _NAME)
    return Settings(**row.value) if row is not None else Settings()


def first_settings(session: Session, *, alone_open: bool) -> None:
    """Write the first choice; a second writer of it fails on the row's key, on any database."""
    session.add(SettingRow(name=_NAME, value=asdict(Settings(alone_open=alone_open, revision=1))))
    session.flush()


def renew_settings(session: Session, *, alone_open: bool) -> None:
    """Write the first choice over what an earlier school left; others who do the same wait for this transaction."""
    row = session.get_one(SettingRow, _NAME, with_for_update=True)
    row.value = asdict(Settings(alone_open=alone_open, revision=row.value["revision"] + 1))
    session.flush()


@service(Right.MANAGE_PEOPLE)
def change_settings(store: Store, person: Person, chosen: Settings) -> Settings:
    """Keep these choices; `chosen.revision` is the one that they were made from.

    Raises
    ------
    StaleWrite
        Where someone chose in between.
    """
    with store.writing() as session:
        row = session.get(SettingRow, _NAME, with_for_update=True)
        if row is None or row.value["revision"] != chosen.revision:
            raise StaleWrite("Someone changed these settings in between; please look at them again.")
        row.value = {**asdict(chosen), "revision": chosen.revision + 1}
        append(store, session, actor_id=person.id, action="change_settings")
        return Settings(**row.value)


def door_secret(store: Store) -> bytes:
    """The secret with which this installation signs what it hands to browsers that are not signed in; made once."""
    with store.reading() as session:
        row = session.get(SettingRow, _DOOR)
        if row is not None:
            return bytes.fromhex(row.value["secret"])
    with store.writing() as session:
        try:
            with session.begin_nested():
                session.add(SettingRow(name=_DOOR, value={"secret": secrets.token_hex(32)}))
        except IntegrityError:
            # Another thread or process was faster; all of them must use the same.
            session.expire_all()
        return bytes.fromhex(session.get_one(SettingRow, _DOOR).value["secret"])
