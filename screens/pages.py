"""The pages: what each is called, where it lies, and whom it is offered to. Rights are checked by the services."""

from collections.abc import Callable
from dataclasses import dataclass

from records.people import Role
from screens import account, feedback, people, practise, progress, start

EVERYONE = frozenset(Role)
TEACHERS = frozenset({Role.EDUCATOR, Role.INSTRUCTOR})


@dataclass(frozen=True, kw_only=True)
class PageEntry:
    """One page.

    `listed` is False for pages that only other pages lead to, `needs_accounts` True for those that mean nothing to
    someone who works alone.
    """

    name: str
    title: str
    show: Callable[[], None]
    roles: frozenset[Role] = EVERYONE
    listed: bool = True
    needs_accounts: bool = False


PAGES = (
    PageEntry(name="start", title="Start", show=start.show),
    PageEntry(name="practise", title="Practise", show=practise.show),
    PageEntry(name="feedback", title="Feedback", show=feedback.show),
    PageEntry(name="progress", title="My progress", show=progress.show),
    PageEntry(name="people", title="People", show=people.show, roles=TEACHERS, needs_accounts=True),
    PageEntry(name="account", title="My account", show=account.show, needs_accounts=True),
)
