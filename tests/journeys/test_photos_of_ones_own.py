"""Uploads: what is taken in, what is refused in one sentence, what is stored, and who gets to see a picture."""

import io
import re
import struct
import urllib.error
import urllib.request
import zlib
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import FilePayload, Page, expect
from skimage import io as skimage_io

from tests.journeys.people import Server, card, open_start, photo_frame, pictures_shown, press, rows, settle

DATA = Path(__file__).resolve().parent.parent / "data"


def picture(width: int, height: int, mode: str = "RGB") -> Image.Image:
    """A picture whose four corners differ, so that a turn shows."""
    pixels = np.full((height, width, 3), 190, np.uint8)
    pixels[: height // 2, : width // 2] = (200, 60, 40)
    pixels[height // 2 :, width // 2 :] = (40, 60, 200)
    return Image.fromarray(pixels).convert(mode)


def turned_jpeg() -> bytes:
    """A JPEG that says in Exif that it must be turned by 90 degrees, with a place, a comment and a maker in it."""
    exif = Image.Exif()
    exif[0x0112] = 6
    exif[0x010F] = "HollowmereCam"
    exif.get_ifd(0x8825)[2] = (51.0, 30.0, 0.0)
    out = io.BytesIO()
    picture(640, 400).save(out, "JPEG", exif=exif, comment=b"secret remark", quality=95)
    return out.getvalue()


def saved(image: Image.Image, kind: str, **options: object) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **options)
    return out.getvalue()


def huge_png_header() -> bytes:
    """A PNG that claims 20,000 by 15,000 pixels and brings none."""

    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    head = struct.pack(">IIBBBBB", 20_000, 15_000, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0")) + chunk(b"IEND", b"")


def upload(page: Page, name: str, data: bytes) -> None:
    page.locator("input[type=file]").set_input_files(FilePayload(name=name, mimeType="", buffer=data))
    settle(page)


def keep_as_doll(page: Page, title: str) -> None:
    page.get_by_label("Title").fill(title)
    page.get_by_label("Title").press("Enter")
    settle(page)
    page.get_by_text("A doll and no person", exact=True).click()
    settle(page)
    page.get_by_text(re.compile("^I declare that this photo shows a doll")).click()
    settle(page)
    press(page, "Keep this photo")
    expect(page.get_by_text(f"“{title}” is kept")).to_be_visible()


def stored_photo(server: Server, title: str) -> bytes:
    ((name,),) = rows(server.data, f"select file_name from photo where title = '{title}'")
    return (server.data / "photos" / name).read_bytes()


def jpeg_segments(data: bytes) -> list[int]:
    """Markers of a JPEG before its scan, walked by hand: an independent reader of what is stored."""
    assert data[:2] == b"\xff\xd8"
    at, markers = 2, []
    while data[at + 1] != 0xDA:
        markers.append(data[at + 1])
        at += 2 + struct.unpack(">H", data[at + 2 : at + 4])[0]
    return markers


def test_a_turned_jpeg_comes_in_upright_cropped_and_without_metadata(
    page: Page, run_program: Callable[[], Server]
) -> None:
    server = run_program()
    open_start(page, server.url)
    upload(page, "IMG_4711.jpg", turned_jpeg())
    page.get_by_role("heading", name="Mark the part to keep").wait_for()
    assert pictures_shown(page) >= 1
    keep_as_doll(page, "Doll, turned")

    data = stored_photo(server, "Doll, turned")
    assert not set(jpeg_segments(data)) & {*range(0xE1, 0xF0), 0xFE}
    for trace in (b"Exif", b"secret remark", b"HollowmereCam", b"IMG_4711", b"http://ns.adobe.com"):
        assert trace not in data
    assert b"IMG_4711" not in (server.data / "records.sqlite3").read_bytes()
    pixels = skimage_io.imread(io.BytesIO(data))
    assert pixels.shape == (640, 400, 3)
    assert pixels[10, -10, 0] > 150 > pixels[10, -10, 2]
    assert pixels[-10, 10, 2] > 150 > pixels[-10, 10, 0]
    settle(page)
    assert pictures_shown(page) >= 1


def test_a_heic_photo_comes_in_and_only_the_marked_part_is_kept(page: Page, run_program: Callable[[], Server]) -> None:
    server = run_program()
    open_start(page, server.url)
    upload(page, "photo.heic", (DATA / "doll.heic").read_bytes())
    page.get_by_role("img", name="practice photo").scroll_into_view_if_needed()
    frame = photo_frame(page)
    start, end = (frame["x"] + 20, frame["y"] + 20), (frame["x"] + frame["width"] / 2, frame["y"] + frame["height"] / 2)
    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move(*end, steps=6)
    page.mouse.up()
    settle(page)
    keep_as_doll(page, "Doll from a phone")
    pixels = skimage_io.imread(io.BytesIO(stored_photo(server, "Doll from a phone")))
    assert 0.35 * 800 < pixels.shape[1] < 0.5 * 800
    assert 0.35 * 600 < pixels.shape[0] < 0.5 * 600


REFUSED = {
    "empty.jpg": b"",
    "text.jpg": b"This is no photo, whatever its name says.\n" * 40,
    "truncated.jpg": saved(picture(640, 480), "JPEG")[:3000],
    "huge.png": huge_png_header(),
    "moving.png": saved(
        picture(100, 100), "PNG", save_all=True, append_images=[picture(100, 100, "L").convert("RGB")], duration=100
    ),
    "gif named.jpg": saved(
        picture(100, 100), "GIF", save_all=True, append_images=[picture(100, 100, "L").convert("RGB")]
    ),
    "svg named.png": b"<svg xmlns='http://www.w3.org/2000/svg' width='90' height='90'><circle r='9'/></svg>",
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_no_photo_for_us_is_refused_in_one_sentence_and_nothing_is_stored(
    name: str, page: Page, run_program: Callable[[], Server]
) -> None:
    server = run_program()
    open_start(page, server.url)
    before = sorted((server.data / "photos").iterdir())
    upload(page, name, REFUSED[name])
    alert = page.get_by_test_id("stAlert").get_by_role("alert").last
    text = alert.inner_text().strip()
    assert len(re.findall(r"[.!?](\s|$)", text)) == 1, text
    assert page.get_by_role("button", name="Keep this photo").count() == 0
    assert sorted((server.data / "photos").iterdir()) == before
    assert rows(server.data, "select count(*) from photo where sample_id is null") == [(0,)]


def test_a_picture_needs_the_cookie_of_the_page_and_is_gone_once_removed(
    page: Page, run_program: Callable[[], Server]
) -> None:
    server = run_program()
    open_start(page, server.url)
    upload(page, "own.png", saved(picture(500, 400), "PNG"))
    keep_as_doll(page, "Doll to remove")
    settle(page)
    ((photo_id,),) = rows(server.data, "select id from photo where title = 'Doll to remove'")
    data = stored_photo(server, "Doll to remove")
    address = f"{server.url}/photos/{photo_id}/screen.jpg"
    assert page.request.get(address).status == 200
    with pytest.raises(urllib.error.HTTPError) as refused:
        urllib.request.urlopen(address, timeout=10)
    assert refused.value.code == 401

    card(page, "Doll to remove").get_by_role("button", name="Remove", exact=True).click()
    page.get_by_role("button", name="Remove this photo").click()
    settle(page)
    expect(page.get_by_text("Doll to remove", exact=True)).to_have_count(0)
    assert page.request.get(address).status == 404
    on_disk = [file for file in server.data.rglob("*") if file.is_file() and data[:4000] in file.read_bytes()]
    assert on_disk == []


def test_people_are_not_kept_without_a_consent(page: Page, run_program: Callable[[], Server]) -> None:
    server = run_program()
    open_start(page, server.url)
    upload(page, "own.png", saved(picture(500, 400), "PNG"))
    page.get_by_label("Title").fill("Pair 3")
    page.get_by_label("Title").press("Enter")
    settle(page)
    keep = page.get_by_role("button", name="Keep this photo")
    expect(keep).to_be_disabled()
    page.get_by_text("People", exact=True).click()
    settle(page)
    expect(keep).to_be_disabled()
    page.get_by_label("Label for who is shown, not a name").fill("pair 3")
    page.get_by_label("Who agreed, in what relation").fill("the adult shown, parent of the child")
    page.get_by_label("Who agreed, in what relation").press("Enter")
    settle(page)
    page.get_by_label("For the child: who has authority").fill("the adult shown, its parent")
    page.get_by_label("For the child: who has authority").press("Enter")
    settle(page)
    page.get_by_text(re.compile("^Faces that must not be shown")).click()
    settle(page)
    expect(keep).to_be_disabled()
    page.get_by_text(re.compile("^I hold a consent for this photo")).click()
    settle(page)
    press(page, "Keep this photo")
    expect(page.get_by_text("“Pair 3” is kept")).to_be_visible()
    ((kind, shown),) = rows(
        server.data,
        "select consent.kind, consent.shown from photo join consent on consent.id = photo.consent_id where title = 'Pair 3'",
    )
    assert (kind, shown) == ("person", "pair 3")
