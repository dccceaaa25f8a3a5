"""Where a class clicks: the spread of each landmark drawn on the photo, and the same as a table."""

from collections.abc import Iterable
from html import escape
from urllib.parse import quote

import streamlit as st

from records.photo.photos import get_photo
from rubric.review.points import Ellipse
from screens import look
from screens.data import me, store
from screens.language import _
from screens.review.work import ReviewedWork
from vision.landmarks import LANDMARK_NAMES

#: Axes of an ellipse that holds 95 % of normally spread clicks, in standard deviations: the root of chi-square's 5.991.
_HOLDS_95 = 2.448


def show(work: ReviewedWork) -> None:
    """Choose a photo and draw it."""
    told = [photo for photo in work.slots if any(one.photo == photo for one in work.review.ellipses)]
    if not told:
        st.info(_("Fewer than three students placed points on any photo."))
        return
    photo = st.selectbox(_("Photo"), told, format_func=work.photo_name, key="review-photo")
    ellipses = [one for one in work.review.ellipses if one.photo == photo]
    picture, table = st.columns([3, 2], gap="large")
    photo_id = work.slots[photo].photo_id
    with picture:
        if photo_id is None:
            look.quiet(_("The photo is no longer here."))
        else:
            record = get_photo(store(), me(), photo_id)
            address = f"/photos/{photo_id}/screen.jpg"
            st.html(_drawn(address, work.photo_name(photo), record.width, record.height, ellipses))
            look.quiet(_("Each ring holds about 95 % of the clicks; the cross is the key's point."))
    with table:
        look.table(
            [_("Point"), _("Clicks"), _("Spread, pixels"), _("From the key, pixels")],
            [
                (
                    f"{number}. {_(LANDMARK_NAMES[one.landmark])}",
                    str(one.n),
                    f"{one.long_axis:.0f} × {one.short_axis:.0f}",
                    "–" if one.off_key is None else f"{one.off_key:.0f}",
                )
                for number, one in enumerate(ellipses, start=1)
            ],
            _("Spread of the clicks"),
        )


def _drawn(url: str, name: str, width: int, height: int, ellipses: Iterable[Ellipse]) -> str:
    line = max(width, height) / 900
    rings = "".join(_ring(one, number, line) for number, one in enumerate(ellipses, start=1))
    drawing = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}">{rings}</svg>'
    # As a picture of its own: the page takes no drawing inside its text.
    laid_over = "data:image/svg+xml," + quote(drawing)
    rings_say = escape(_("Rings of spread; the table beside tells the same"), quote=True)
    return (
        '<figure style="position:relative;margin:0">'
        f'<img src="{escape(url, quote=True)}" alt="{escape(name, quote=True)}" style="width:100%;display:block">'
        f'<img src="{laid_over}" alt="{rings_say}"'
        ' style="position:absolute;inset:0;width:100%;height:100%"></figure>'
    )


def _ring(one: Ellipse, number: int, line: float) -> str:
    size = f'rx="{_HOLDS_95 * one.long_axis:.1f}" ry="{_HOLDS_95 * one.short_axis:.1f}"'
    turned = f'transform="rotate({one.angle_deg:.1f} {one.x:.1f} {one.y:.1f})"'
    ring = "".join(
        f'<ellipse cx="{one.x:.1f}" cy="{one.y:.1f}" {size} {turned} fill="none" stroke="{colour}" stroke-width="{wide:.1f}"/>'
        for colour, wide in (("#12242B", 3 * line), ("#FFFFFF", line))
    )
    words = (
        f'<text x="{one.x + _HOLDS_95 * one.long_axis:.1f}" y="{one.y:.1f}" font-size="{20 * line:.1f}" fill="#FFFFFF"'
        f' font-family="sans-serif" stroke="#12242B" stroke-width="{3 * line:.1f}" paint-order="stroke">{number}</text>'
    )
    return ring + words + _cross(one, 4 * line, line)


def _cross(one: Ellipse, arm: float, line: float) -> str:
    if one.key_x is None or one.key_y is None:
        return ""
    x, y = one.key_x, one.key_y
    path = f"M{x - arm:.1f} {y:.1f}H{x + arm:.1f}M{x:.1f} {y - arm:.1f}V{y + arm:.1f}"
    return "".join(
        f'<path d="{path}" stroke="{colour}" stroke-width="{wide:.1f}" fill="none"/>'
        for colour, wide in (("#12242B", 3 * line), ("#FFD9A0", line))
    )
