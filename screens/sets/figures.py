"""The report on a teaching set: its keys, and how far the experts agree whose readings may be seen."""

from records.errors import NotFound
from records.identity.people import Person
from records.key.expert_keys import expert_keys_in
from records.store import Store
from records.teaching_sets import frozen_keys, get_version
from rubric.items import Checklist
from rubric.reports import Report, set_report
from rubric.review.table import key_table
from screens.language import _
from screens.sets.agreeing import panel_of


def report_on_set(store: Store, person: Person, version_id: str, checklist: Checklist) -> Report:
    """A published version's report; photos are called by their place and title. Raises RecordsError."""
    version = get_version(store, person, version_id)
    frozen = frozen_keys(store, person, version_id)
    there = {photo.photo_id: photo for photo in version.photos if photo.photo_id is not None}
    keys = {photo_id: frozen[photo_id].key for photo_id in there if photo_id in frozen}
    if not keys:
        raise NotFound(_("A report is made of a published version; this one holds no frozen key."))
    panel = panel_of(expert_keys_in(store, person, version_id), checklist)
    experts = {}
    if panel is not None:
        both = panel.beyond_chance
        experts = {
            _("percent agreement"): panel.percent,
            _("kappa"): both.kappa,
            _("Gwet's AC1"): both.ac1,
            _("Krippendorff's alpha"): panel.alpha,
        }
    return set_report(
        key_table(checklist, keys, disputed={} if panel is None else panel.disputed),
        checklist,
        title=_("{title}, version {number}").format(title=version.title, number=version.number),
        made_on=store.today(),
        photo_names={photo_id: f"{photo.position}. {photo.title}" for photo_id, photo in there.items()},
        experts=experts,
    )
