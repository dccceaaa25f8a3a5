"""A published teaching set as one zip, out of one data folder and into another. The form stands in `form`.

travelling(store, person, version_id) -> Travelling(n_photos, left_out)      what would go today, and what stays
make_bundle(store, person, version_id, *, to_whom) -> BundleRecord           writes down to whom it goes
write_out(store, person, bundle_id, to) -> BundleRecord                      the bytes, made anew each time
bundles_of(store, person, version_id) -> tuple[BundleRecord, ...]
take_in(store, person, file, *, screen_copy) -> TakenIn(version, left_out)   all or nothing; BundleRefused
"""

from records.bundles.form import MAX_BUNDLE_BYTES, LeftOut
from records.bundles.making import BundleRecord, Travelling, bundles_of, make_bundle, travelling, write_out
from records.bundles.taking_in import TakenIn, take_in

__all__ = [
    "MAX_BUNDLE_BYTES",
    "BundleRecord",
    "LeftOut",
    "TakenIn",
    "Travelling",
    "bundles_of",
    "make_bundle",
    "take_in",
    "travelling",
    "write_out",
]
