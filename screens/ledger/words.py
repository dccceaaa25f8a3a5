"""How the ledger says what stands in a line of it."""

from datetime import date

from records.consent.consents import Kind, Scope
from records.consent.ledger import SOON_DAYS, LedgerLine
from records.consent.withdrawal import LeftBundle, Withdrawal

USES = {
    Scope.OWN_PRACTICE: "own practice",
    Scope.OWN_CLASS: "a class",
    Scope.TEACHING_SETS: "teaching sets",
    Scope.PRINTED: "printed or exported material",
}


def day(on: date) -> str:
    """A day as people write it.

    Examples
    --------
    >>> day(date(2030, 3, 4))
    '4 March 2030'
    """
    return f"{on.day} {on:%B %Y}"


def count(n: int, of: str) -> str:
    """A number of things.

    Examples
    --------
    >>> count(1, "photo"), count(0, "photo")
    ('1 photo', 'no photos')
    """
    return f"{n or 'no'} {of}{'' if n == 1 else 's'}"


def state(line: LedgerLine) -> str:
    """Where a consent stands today, in a few words."""
    consent = line.consent
    if consent.withdrawn_on is not None:
        return f"withdrawn on {day(consent.withdrawn_on)}"
    if consent.expires_on is None:
        return "has no end"
    if not line.stands:
        return f"ended on {day(consent.expires_on)}"
    if line.ends_within(SOON_DAYS):
        left = line.days_left or 0
        return "ends today" if left == 1 else f"ends in {count(left - 1, 'day')}, on {day(consent.expires_on)}"
    return f"until {day(consent.expires_on)}"


def uses(line: LedgerLine) -> str:
    """What it covers, in the order of the form."""
    named = [USES[scope] for scope in Scope if scope in line.consent.scopes and scope != Scope.OWN_CLASS]
    if Scope.OWN_CLASS in line.consent.scopes:
        named.insert(min(1, len(named)), f"the class {line.class_title}" if line.class_title else USES[Scope.OWN_CLASS])
    return ", ".join(named)


def facts(line: LedgerLine) -> list[str]:
    """What the form says, a line each."""
    consent = line.consent
    if consent.kind == Kind.DOLL:
        return [f"Declared on {day(consent.given_on)} to show a doll and no person"]
    said = [f"Given on {day(consent.given_on)} by {consent.given_by}"]
    if consent.authority:
        said.append(f"For the child: {consent.authority}")
    said.append(f"Covers {uses(line)}")
    said.append(
        "Faces that must not be shown are covered"
        if consent.faces_covered
        else "Nothing says that faces are covered which must not be shown"
    )
    said.append(f"Form version {consent.form_version}, put on record by {'you' if line.mine else line.recorded_by}")
    return said


def left_lines(left: tuple[LeftBundle, ...]) -> list[str]:
    """Who holds exported copies."""
    return [f"{one.to_whom}: {count(one.n_photos, 'photo')}, exported on {day(one.made_at.date())}" for one in left]


def before_withdrawing(line: LedgerLine) -> list[str]:
    """What a withdrawal will do, a sentence each."""
    rests = (
        "No photo rests on this consent now."
        if not line.n_photos
        else f"{count(line.n_photos, 'photo').capitalize()} that rest{'s' if line.n_photos == 1 else ''} on it "
        "will be removed at once: from every page, class and teaching set, and from the disk."
    )
    return [
        rests,
        "Any other photo here that is the same goes with them, whoever added it.",
        "All points, spots and hashes of these photos go too. Practice on them that was not handed in ends.",
        "What was handed in keeps its answers and measures, without the picture. A published set keeps an empty place.",
        "Backups made before this still hold the photos until you destroy them; restoring one takes them out again.",
        "Nobody can undo this.",
    ]


def after_withdrawing(done: Withdrawal) -> str:
    """What a withdrawal did."""
    on = day(done.consent.withdrawn_on) if done.consent.withdrawn_on else "now"
    gone = (
        "No photo rested on it."
        if not done.n_photos
        else f"{count(done.n_photos, 'photo').capitalize()} "
        f"{'is' if done.n_photos == 1 else 'are'} gone, with everything read off {'it' if done.n_photos == 1 else 'them'}."
    )
    return f"The consent for “{done.consent.shown}” is withdrawn since {on}. {gone}"
