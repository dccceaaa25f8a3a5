"""The pages: what each is called, where it lies, and whom it is offered to. Rights are checked by the services."""

from collections.abc import Callable
from dataclasses import dataclass

from records.people import Role
from screens import feedback, practise, progress, start

EVERYONE = frozenset(Role)


@dataclass(frozen=True, kw_only=True)
class PageEntry:
    """One page. `listed` is False for pages that only other pages lead to."""

    name: str
    title: str
    show: Callable[[], None]
    roles: frozenset[Role] = EVERYONE
    listed: bool = True


PAGES = (
    PageEntry(name="start", title="Start", show=start.show),
    PageEntry(name="practise", title="Practise", show=practise.show),
    PageEntry(name="feedback", title="Feedback", show=feedback.show),
    PageEntry(name="progress", title="My progress", show=progress.show),
)
