"""What the consent form says. Short sentences for a tired reader; a school adapts them to its law and policy.

Raise `FORM_VERSION` with every change of meaning: the ledger keeps which version somebody signed.
"""

from dataclasses import dataclass

FORM_VERSION = "2026-11"

TITLE = "Consent to practice photos"
TEMPLATE = (
    "This is a template. Before you use it, adapt it to the law of your country and to the policy of your school and "
    "hospital, and have it checked there. Where they ask for more, they come first."
)
LEDE = (
    "Students learn to see how a baby lies and attaches at the breast. They practise on photos. "
    "Please read this in peace, and ask whatever you like. You may take it home."
)


@dataclass(frozen=True, kw_only=True)
class Point:
    """One heading and the sentences below it."""

    heading: str
    text: str


POINTS: tuple[Point, ...] = (
    Point(
        heading="You are free to say no",
        text="Taking part is voluntary. You may agree to some things here and not to others. You need not say why. "
        "Your care and your baby's care do not depend on it, now or later. You get no payment for it.",
    ),
    Point(
        heading="When and by whom you are asked",
        text="You are not asked during labour. The person who treats you or your baby does not ask you alone: someone "
        "who does not look after you explains this form. Nobody starts, changes, holds up or ends a feed for a photo.",
    ),
    Point(
        heading="What the photo shows",
        text="Your breast, hands and upper body, and your baby's face and body during a feed. Your baby's face stays "
        "in sight, because it is what students look at: people who know your baby may recognise it. Your own face is "
        "covered unless you allow it to be shown. The faces of others are covered, and so are wristbands, tattoos, name "
        "cards and screens. A cover is one flat colour that cannot be taken off again.",
    ),
    Point(
        heading="Who sees it, where and until when",
        text="Only people in the uses that you tick on the next page. The photo is kept in the school's own practice "
        "program, on the school's computers. It goes to no website. After the last day that you write down it can no "
        "longer be opened.",
    ),
    Point(
        heading="What a computer does with it",
        text="Software measures the photo: for example how wide the mouth opens, and whether ear, shoulder and hip lie "
        "on one line. Students do the same by hand. It is for practice. It is no examination of you or your baby, and "
        "no one gives you a finding from it. The photo is not used to train any model, that is, no software learns "
        "from it.",
    ),
    Point(
        heading="What is not kept",
        text="No name, date of birth or record number, nothing about your health, and no uncovered original. Time, "
        "place and camera data in the file are removed. This signed form is kept apart from the photo.",
    ),
    Point(
        heading="If you change your mind",
        text="You can take your consent back at any time, without a reason, by telling the person named below. If any "
        "of you takes it back, the photo goes, for all. The photo and every picture made from it are deleted from the "
        "program at once. So are the points placed on it, and what finds copies of it. The same is done again if an old "
        "backup is used. Scores that students gave stay, without the picture.",
    ),
    Point(
        heading="What cannot be called back",
        text="Prints that were handed out, and copies that had already gone to another school. The school tells you "
        "where copies went and asks there for them to be deleted. It cannot promise that this is done. What people have "
        "seen, they have seen. If that troubles you, leave the last two uses on the next page unticked.",
    ),
)  # fmt: skip

CONTACT = "To take it back, or to ask"
CONTACT_FIELDS = ("Person at the school", "Telephone", "E-mail or address")

ADULT_HEADING = "1  For the adult in the photo"
ADULT_TICKS = ("I agree that my own body is shown as described.",)
FACE_INTRO = "About your own face, tick one. If you tick none, it is covered."
FACE_TICKS = ("My face is to be covered.", "My face may be shown.")
CHILD_HEADING = "2  For the child in the photo"
CHILD_INTRO = "To be filled in by the person who may decide for the child, even where it is the same person as above."
CHILD_TICKS = (
    "I have the right to decide for this child. My relation to the child is written beside my signature.",
    "I agree that the child's picture is used as described.",
    "I know that the child's face stays in sight and may be recognised.",
)
USES_HEADING = "3  Uses that I agree to"
USES_INTRO = "Tick each one that you agree to. What is not ticked is not allowed."
USES = (
    ("Own practice", "by the person who takes the photo."),
    ("This class", "students and teachers of:"),
    ("Teaching sets", "for other classes, also of other schools."),
    ("Printed or exported material", "such as worksheets. These cannot be called back."),
)
USES_NOTE = "Both of you tick the same uses, or only those count that both have ticked."
TIME_HEADING = "4  For how long"
TIME_FIELDS = ("Agreed on", "Last day of use", "Label of the photos (no name)")
TIME_NOTE = (
    "Choose a last day that you can oversee, for example one year from now. You can take your consent back before."
)
SIGN_HEADING = "5  Signatures"
SIGN_ROWS = (
    ("Adult in the photo", ""),
    ("Person who decides for the child", "and relation to the child"),
    ("Person who explained this form", "not only the one who treats you"),
)
COPY = "You keep a copy of both pages. Ask again at any time."
