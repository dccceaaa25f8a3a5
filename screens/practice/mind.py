"""The change of mind between the first look and the second, as both the hand-in and the feedback show it."""

from rubric.answers import Answer, AnswerSheet
from rubric.scoring import changes
from screens import look
from screens.data import checklist
from screens.language import _
from screens.words import ANSWERS


def show_changes(first: AnswerSheet, second: AnswerSheet) -> None:
    """A table of the signs whose answer moved, or the word that none did."""
    moved = changes(first, second)
    if not moved:
        look.quiet(_("You kept all your first answers."))
        return
    words = {item.id: _(item.text) for item in checklist().items}
    rows = [(words.get(one.item_id, one.item_id), _said(one.before), _said(one.after)) for one in moved]
    look.table((_("Sign"), _("First look"), _("After measuring")), rows, _("Changes of mind"))


def _said(answer: Answer | None) -> str:
    return _("blank") if answer is None else ANSWERS[answer]
