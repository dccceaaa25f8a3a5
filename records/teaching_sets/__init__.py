"""Teaching sets: a draft is built, published (frozen and sealed), given to classes, retired, copied into a new draft.

    new_set(store, person, title) -> SetRecord                       with an empty draft
    list_sets(store, person) -> tuple[SetRecord, ...] ; rename_set(store, person, set_id, title) -> SetRecord
    get_version(store, person, version_id) -> VersionRecord           any state, for whoever builds
    add_photos, remove_photo, reorder, set_difficulty, set_note, set_notes, discard_draft(..., *, expected_revision)
    hindrances(store, person, version_id) -> tuple[str, ...]         all that stands against publishing
    publish(store, person, version_id, *, expected_revision, checklist_version) -> VersionRecord     NotReady.faults
    new_draft(store, person, set_id) ; retire(store, person, version_id)
    published_versions(store, person) ; published_version(store, person, version_id)       for whoever runs a class
    sheet_to_print(store, person, version_id) -> SheetToPrint(version, keys)    for paper; whoever runs a class that has it, too
    frozen_keys(store, person, version_id) -> {photo id: FrozenKey(key, landmarks)} ; seal_holds(...) -> bool | None

Within a transaction: hindrances_to_giving(store, version_row, class_id), refused_in_class(store, photo_row, class_id),
frozen_key(set_photo_row), is_removed(set_photo_row), places(version_row).
"""

from records.teaching_sets.drafts import (
    add_photos,
    discard_draft,
    new_set,
    remove_photo,
    rename_set,
    reorder,
    set_difficulty,
    set_note,
    set_notes,
)
from records.teaching_sets.printing import SheetToPrint, sheet_to_print
from records.teaching_sets.publishing import (
    hindrances,
    hindrances_to_giving,
    new_draft,
    publish,
    refused_in_class,
    retire,
)
from records.teaching_sets.reading import (
    frozen_keys,
    get_version,
    list_sets,
    published_version,
    published_versions,
    seal_holds,
)
from records.teaching_sets.values import (
    FrozenKey,
    SetPhoto,
    SetRecord,
    State,
    VersionLine,
    VersionRecord,
    frozen_key,
    is_removed,
    places,
)

__all__ = [
    "FrozenKey",
    "SetPhoto",
    "SetRecord",
    "SheetToPrint",
    "State",
    "VersionLine",
    "VersionRecord",
    "add_photos",
    "discard_draft",
    "frozen_key",
    "frozen_keys",
    "get_version",
    "hindrances",
    "hindrances_to_giving",
    "is_removed",
    "list_sets",
    "new_draft",
    "new_set",
    "places",
    "publish",
    "published_version",
    "published_versions",
    "refused_in_class",
    "remove_photo",
    "rename_set",
    "reorder",
    "retire",
    "seal_holds",
    "set_difficulty",
    "set_note",
    "set_notes",
    "sheet_to_print",
]
