"""What the consent form says. Short sentences for a tired reader; a school adapts them to its law and policy.

Raise `FORM_VERSION` with every change of meaning: the ledger keeps which version somebody signed.
"""

from dataclasses import dataclass

from screens.language import N_

FORM_VERSION = "2026-11"

TITLE = N_("Consent to practice photos")
TEMPLATE = N_(
    "This is a template. Before you use it, adapt it to the law of your country and to the policy of your "
    "school and hospital, and have it checked there. Where they ask for more, they come first."
)
LEDE = N_(
    "Students learn to see how a baby lies and attaches at the breast. They practise on photos. Please read "
    "this in peace, and ask whatever you like. You may take it home."
)


@dataclass(frozen=True, kw_only=True)
class Point:
    """One heading and the sentences below it."""

    heading: str
    text: str


POINTS: tuple[Point, ...] = (
    Point(
        heading=N_("You are free to say no"),
        text=N_("Taking part is voluntary. You may agree to some things here and not to others. You need not say why. "
        "Your care and your baby's care do not depend on it, now or later. You get no payment for it."),
    ),
    Point(
        heading=N_("When and by whom you are asked"),
        text=N_("You are not asked during labour. The person who treats you or your baby does not ask you alone: someone "
        "who does not look after you explains this form. Nobody starts, changes, holds up or ends a feed for a "
        "photo."),
    ),
    Point(
        heading=N_("What the photo shows"),
        text=N_("Your breast, hands and upper body, and your baby's face and body during a feed. Your baby's face stays "
        "in sight, because it is what students look at: people who know your baby may recognise it. Your own "
        "face is covered unless you allow it to be shown. The faces of others are covered, and so are "
        "wristbands, tattoos, name cards and screens. A cover is one flat colour that cannot be taken off again."),
    ),
    Point(
        heading=N_("Who sees it, where and until when"),
        text=N_("Only people in the uses that you tick on the next page. The photo is kept in the school's own practice "
        "program, on the school's computers. It goes to no website. After the last day that you write down it "
        "can no longer be opened."),
    ),
    Point(
        heading=N_("What a computer does with it"),
        text=N_("Software measures the photo: for example how wide the mouth opens, and whether ear, shoulder and hip "
        "lie on one line. Students do the same by hand. It is for practice. It is no examination of you or your "
        "baby, and no one gives you a finding from it. The photo is not used to train any model, that is, no "
        "software learns from it."),
    ),
    Point(
        heading=N_("What is not kept"),
        text=N_("No name, date of birth or record number, nothing about your health, and no uncovered original. Time, "
        "place and camera data in the file are removed. This signed form is kept apart from the photo."),
    ),
    Point(
        heading=N_("If you change your mind"),
        text=N_("You can take your consent back at any time, without a reason, by telling the person named below. If any "
        "of you takes it back, the photo goes, for all. The photo and every picture made from it are deleted "
        "from the program at once. So are the points placed on it, and what finds copies of it. The same is done "
        "again if an old backup is used. Scores that students gave stay, without the picture."),
    ),
    Point(
        heading=N_("What cannot be called back"),
        text=N_("Prints that were handed out, and copies that had already gone to another school. The school tells you "
        "where copies went and asks there for them to be deleted. It cannot promise that this is done. What "
        "people have seen, they have seen. If that troubles you, leave the last two uses on the next page "
        "unticked."),
    ),
)  # fmt: skip

CONTACT = N_("To take it back, or to ask")
CONTACT_FIELDS = (N_("Person at the school"), N_("Telephone"), N_("E-mail or address"))

ADULT_HEADING = N_("1  For the adult in the photo")
ADULT_TICKS = (N_("I agree that my own body is shown as described."),)
FACE_INTRO = N_("About your own face, tick one. If you tick none, it is covered.")
FACE_TICKS = (N_("My face is to be covered."), N_("My face may be shown."))
CHILD_HEADING = N_("2  For the child in the photo")
CHILD_INTRO = N_(
    "To be filled in by the person who may decide for the child, even where it is the same person as above."
)
CHILD_TICKS = (
    N_("I have the right to decide for this child. My relation to the child is written beside my signature."),
    N_("I agree that the child's picture is used as described."),
    N_("I know that the child's face stays in sight and may be recognised."),
)
USES_HEADING = N_("3  Uses that I agree to")
USES_INTRO = N_("Tick each one that you agree to. What is not ticked is not allowed.")
USES = (
    (N_("Own practice"), N_("by the person who takes the photo.")),
    (N_("This class"), N_("students and teachers of:")),
    (N_("Teaching sets"), N_("for other classes, also of other schools.")),
    (N_("Printed or exported material"), N_("such as worksheets. These cannot be called back.")),
)
USES_NOTE = N_("Both of you tick the same uses, or only those count that both have ticked.")
TIME_HEADING = N_("4  For how long")
TIME_FIELDS = (N_("Agreed on"), N_("Last day of use"), N_("Label of the photos (no name)"))
TIME_NOTE = N_(
    "Choose a last day that you can oversee, for example one year from now. You can take your consent back before."
)
SIGN_HEADING = N_("5  Signatures")
SIGN_ROWS = (
    (N_("Adult in the photo"), ""),
    (N_("Person who decides for the child"), N_("and relation to the child")),
    (N_("Person who explained this form"), N_("not only the one who treats you")),
)
COPY = N_("You keep a copy of both pages. Ask again at any time.")
