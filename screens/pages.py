"""The pages: what each is called, where it lies, and whom it is offered to. Rights are checked by the services."""

from collections.abc import Callable
from dataclasses import dataclass

from records.identity.people import Role
from screens import start
from screens.account import own_data, people
from screens.account import page as account
from screens.classes import given, my_work
from screens.classes import one_class as class_page
from screens.classes import page as classes
from screens.guide import page as guide
from screens.ledger import page as ledger
from screens.practice import feedback
from screens.practice import page as practise
from screens.progress import page as progress
from screens.review import page as review
from screens.review import projector, submission
from screens.sets import builder as set_builder
from screens.sets import experts, key_editor
from screens.sets import page as sets
from screens.uploads import many_photos

EVERYONE = frozenset(Role)
TEACHERS = frozenset({Role.EDUCATOR, Role.INSTRUCTOR})
EDUCATORS = frozenset({Role.EDUCATOR})
INSTRUCTORS = frozenset({Role.INSTRUCTOR})


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


#: In the order of a day: practising, teaching, keeping, one's own.
PAGES = (
    PageEntry(name="start", title="Start", show=start.show),
    PageEntry(name="my-work", title="Class work", show=my_work.show, needs_accounts=True),
    PageEntry(name="practise", title="Practise", show=practise.show),
    PageEntry(name="feedback", title="Feedback", show=feedback.show),
    PageEntry(name="progress", title="My progress", show=progress.show),
    PageEntry(name="classes", title="Classes", show=classes.show, roles=INSTRUCTORS, needs_accounts=True),
    PageEntry(name="class", title="A class", show=class_page.show, roles=INSTRUCTORS, listed=False),
    PageEntry(name="given", title="Given work", show=given.show, roles=INSTRUCTORS, listed=False),
    PageEntry(name="review", title="Review", show=review.show, roles=INSTRUCTORS, listed=False),
    PageEntry(name="projector", title="Projector", show=projector.show, roles=INSTRUCTORS, listed=False),
    PageEntry(name="submission", title="A student's work", show=submission.show, roles=INSTRUCTORS, listed=False),
    PageEntry(name="sets", title="Teaching sets", show=sets.show, roles=EDUCATORS),
    PageEntry(name="set", title="A teaching set", show=set_builder.show, roles=EDUCATORS, listed=False),
    PageEntry(name="many-photos", title="Add many photos", show=many_photos.show, roles=EDUCATORS, listed=False),
    PageEntry(name="key", title="A key", show=key_editor.show, roles=TEACHERS, listed=False),
    PageEntry(name="experts", title="Experts' readings", show=experts.show, roles=TEACHERS),
    PageEntry(name="consents", title="Consents", show=ledger.show),
    PageEntry(name="people", title="People", show=people.show, roles=TEACHERS, needs_accounts=True),
    PageEntry(name="my-data", title="My data", show=own_data.show),
    PageEntry(name="account", title="My account", show=account.show, needs_accounts=True),
    PageEntry(name="guide", title="Guide", show=guide.show),
)
