"""Writing the zip: unpacked entries with fixed dates and modes, so that the same set gives the same bytes."""

import hashlib
import zipfile
from collections.abc import Callable
from typing import BinaryIO

from records.bundles.form import KEYS, MANIFEST, POINTS, README, README_TEXT, SUMS, Contents
from records.bundles.manifest import keys_bytes, manifest_bytes, points_bytes

#: The first moment that a zip can name; none of ours says when it was made.
_NO_TIME = (1980, 1, 1, 0, 0, 0)
_UNIX, _PLAIN_FILE = 3, 0o100644 << 16


def write_bundle(contents: Contents, picture: Callable[[int], bytes], to: BinaryIO) -> None:
    """Write the zip.

    Parameters
    ----------
    contents : Contents
    picture : callable
        The JPEG at a place, from 0; each is asked for once, in order.
    to : binary file
        Must be able to seek.
    """
    texts = {
        MANIFEST: manifest_bytes(contents),
        POINTS: points_bytes(contents),
        KEYS: keys_bytes(contents),
        README: README_TEXT.encode(),
    }
    sums = {name: hashlib.sha256(data).hexdigest() for name, data in texts.items()}
    with zipfile.ZipFile(to, "w", zipfile.ZIP_STORED, allowZip64=False) as whole:
        for name, data in texts.items():
            whole.writestr(entry(name), data)
        for place, photo in enumerate(contents.photos):
            data = picture(place)
            sums[photo.name] = hashlib.sha256(data).hexdigest()
            whole.writestr(entry(photo.name), data)
        whole.writestr(entry(SUMS), "".join(f"{found}  {name}\n" for name, found in sums.items()))


def entry(name: str) -> zipfile.ZipInfo:
    """The header of a file in the zip."""
    info = zipfile.ZipInfo(name, _NO_TIME)
    info.create_system, info.external_attr = _UNIX, _PLAIN_FILE
    return info
