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
from screens.language import N_
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
    PageEntry(name="start", title=N_("Start"), show=start.show),
    PageEntry(name="my-work", title=N_("Class work"), show=my_work.show, needs_accounts=True),
    PageEntry(name="practise", title=N_("Practise"), show=practise.show),
    PageEntry(name="feedback", title=N_("Feedback"), show=feedback.show),
    PageEntry(name="progress", title=N_("My progress"), show=progress.show),
    PageEntry(name="classes", title=N_("Classes"), show=classes.show, roles=INSTRUCTORS, needs_accounts=True),
    PageEntry(name="class", title=N_("A class"), show=class_page.show, roles=INSTRUCTORS, listed=False),
    PageEntry(name="given", title=N_("Given work"), show=given.show, roles=INSTRUCTORS, listed=False),
    PageEntry(name="review", title=N_("Review"), show=review.show, roles=INSTRUCTORS, listed=False),
    PageEntry(name="projector", title=N_("Projector"), show=projector.show, roles=INSTRUCTORS, listed=False),
    PageEntry(name="submission", title=N_("A student's work"), show=submission.show, roles=INSTRUCTORS, listed=False),
    PageEntry(name="sets", title=N_("Teaching sets"), show=sets.show, roles=EDUCATORS),
    PageEntry(name="set", title=N_("A teaching set"), show=set_builder.show, roles=EDUCATORS, listed=False),
    PageEntry(name="many-photos", title=N_("Add many photos"), show=many_photos.show, roles=EDUCATORS, listed=False),
    PageEntry(name="key", title=N_("A key"), show=key_editor.show, roles=TEACHERS, listed=False),
    PageEntry(name="experts", title=N_("Experts' readings"), show=experts.show, roles=TEACHERS),
    PageEntry(name="consents", title=N_("Consents"), show=ledger.show),
    PageEntry(name="people", title=N_("People"), show=people.show, roles=TEACHERS, needs_accounts=True),
    PageEntry(name="my-data", title=N_("My data"), show=own_data.show),
    PageEntry(name="account", title=N_("My account"), show=account.show, needs_accounts=True),
    PageEntry(name="guide", title=N_("Guide"), show=guide.show),
)
