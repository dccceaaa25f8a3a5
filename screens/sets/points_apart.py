"""How far experts' points of one photo lie from each other, as a table; said in words where they part."""

from collections.abc import Sequence

import streamlit as st

from screens import look
from screens.language import _
from vision.landmarks import LANDMARK_NAMES, LandmarkSet
from vision.point_spread import PointSpread, point_spreads


def show(sets: Sequence[LandmarkSet], photo: str) -> None:
    """Draw it; nothing where no landmark was placed by two."""
    spreads = point_spreads(sets)
    if not spreads:
        return
    parted = [_(LANDMARK_NAMES[one.landmark]) for one in spreads if one.parts]
    if parted:
        look.listing(_("Their points part:"), parted)
        look.quiet(_("Look at these together before a key is made, since a key's point lies in the middle of theirs."))
    with st.expander(_("Their points, landmark by landmark")):
        look.table(
            [_("Point"), _("Placed by"), _("Furthest apart"), _("Do they part?")],
            [
                (
                    _(LANDMARK_NAMES[one.landmark]),
                    _placed(one, len(sets)),
                    _apart(one),
                    _("yes") if one.parts else _("no"),
                )
                for one in spreads
            ],
            _("Points of {photo}").format(photo=photo),
        )
        look.quiet(
            _(
                "Furthest apart is the largest distance between two experts' points, in percent of the size of the face. They part "
                "where it is more than 99 of 100 pairs of careful clicks on that point would be: close for the face, wide for "
                "ear, shoulder and hip, twice as wide where a point is marked as hidden."
            )
        )


def _placed(one: PointSpread, n_experts: int) -> str:
    return _("{n} of {total}").format(n=one.n, total=n_experts)


def _apart(one: PointSpread) -> str:
    if one.apart_percent is None:
        return _("{px} pixels").format(px=f"{one.apart_px:.0f}")
    return _("{percent} %").format(percent=f"{one.apart_percent:.1f}")
