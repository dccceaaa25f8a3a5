"""How the ledger says what stands in a line of it."""

from datetime import date

from records.consent.consents import Kind, Scope
from records.consent.ledger import SOON_DAYS, LedgerLine
from records.consent.withdrawal import LeftBundle, Withdrawal
from screens.language import N_, _, _n
from screens.local_time import day_words

USES = {
    Scope.OWN_PRACTICE: N_("own practice"),
    Scope.OWN_CLASS: N_("a class"),
    Scope.TEACHING_SETS: N_("teaching sets"),
    Scope.PRINTED: N_("printed or exported material"),
}


def day(on: date) -> str:
    """A day as people write it.

    Examples
    --------
    >>> day(date(2030, 3, 4))
    '4 March 2030'
    """
    return day_words(on)


def photos(n: int) -> str:
    """A number of photos.

    Examples
    --------
    >>> photos(1), photos(0)
    ('1 photo', 'no photos')
    """
    return _n("{n} photo", "{n} photos", n).format(n=n) if n else _("no photos")


def consents(n: int) -> str:
    """A number of consents."""
    return _n("{n} consent", "{n} consents", n).format(n=n) if n else _("no consents")


def state(line: LedgerLine) -> str:
    """Where a consent stands today, in a few words."""
    consent = line.consent
    if consent.withdrawn_on is not None:
        return _("withdrawn on {day}").format(day=day(consent.withdrawn_on))
    if consent.expires_on is None:
        return _("has no end")
    if not line.stands:
        return _("ended on {day}").format(day=day(consent.expires_on))
    if line.ends_within(SOON_DAYS):
        left = line.days_left or 0
        return (
            _("ends today")
            if left == 1
            else _n("ends in {n} day, on {day}", "ends in {n} days, on {day}", left - 1).format(
                n=left - 1, day=day(consent.expires_on)
            )
        )
    return _("until {day}").format(day=day(consent.expires_on))


def uses(line: LedgerLine) -> str:
    """What it covers, in the order of the form."""
    named = [_(USES[scope]) for scope in Scope if scope in line.consent.scopes and scope != Scope.OWN_CLASS]
    if Scope.OWN_CLASS in line.consent.scopes:
        named.insert(
            min(1, len(named)),
            _("the class {class_title}").format(class_title=line.class_title)
            if line.class_title
            else _(USES[Scope.OWN_CLASS]),
        )
    return ", ".join(named)


def facts(line: LedgerLine) -> list[str]:
    """What the form says, a line each."""
    consent = line.consent
    if consent.kind == Kind.DOLL:
        return [_("Declared on {day} to show a doll and no person").format(day=day(consent.given_on))]
    said = [_("Given on {day} by {given_by}").format(day=day(consent.given_on), given_by=consent.given_by)]
    if consent.authority:
        said.append(_("For the child: {authority}").format(authority=consent.authority))
    said.append(_("Covers {uses}").format(uses=uses(line)))
    said.append(
        _("Faces that must not be shown are covered")
        if consent.faces_covered
        else _("Nothing says that faces are covered which must not be shown")
    )
    said.append(
        _("Form version {version}, put on record by you").format(version=consent.form_version)
        if line.mine
        else _("Form version {version}, put on record by {person}").format(
            version=consent.form_version, person=line.recorded_by
        )
    )
    return said


def left_lines(left: tuple[LeftBundle, ...]) -> list[str]:
    """Who holds exported copies."""
    return [
        _("{to_whom}: {photos}, exported on {day}").format(
            to_whom=one.to_whom, photos=photos(one.n_photos), day=day(one.made_at.date())
        )
        for one in left
    ]


def before_withdrawing(line: LedgerLine) -> list[str]:
    """What a withdrawal will do, a sentence each."""
    rests = (
        _("No photo rests on this consent now.")
        if not line.n_photos
        else _n(
            "{n} photo that rests on it will be removed at once: from every page, class and teaching set, and from the "
            "disk.",
            "{n} photos that rest on it will be removed at once: from every page, class and teaching set, and from the "
            "disk.",
            line.n_photos,
        ).format(n=line.n_photos)
    )
    return [
        rests,
        _("Any other photo here that is the same goes with them, whoever added it."),
        _("All points, spots and hashes of these photos go too. Practice on them that was not handed in ends."),
        _(
            "What was handed in keeps its answers and measures, without the picture. A published set keeps an empty place."
        ),
        _("Backups made before this still hold the photos until you destroy them; restoring one takes them out again."),
        _("Nobody can undo this."),
    ]


def after_withdrawing(done: Withdrawal) -> str:
    """What a withdrawal did."""
    on = day(done.consent.withdrawn_on) if done.consent.withdrawn_on else _("now")
    gone = (
        _("No photo rested on it.")
        if not done.n_photos
        else _n(
            "{n} photo is gone, with everything read off it.",
            "{n} photos are gone, with everything read off them.",
            done.n_photos,
        ).format(n=done.n_photos)
    )
    return _("The consent for “{shown}” is withdrawn since {on}. {gone}").format(
        shown=done.consent.shown, on=on, gone=gone
    )
