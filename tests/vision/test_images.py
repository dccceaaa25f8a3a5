"""Photos come in upright, as RGB, without metadata; what is no photo is refused in one sentence."""

import io
import shutil
import subprocess
import warnings
from pathlib import Path

import cv2
import numpy as np
import photo_files as files
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from vision.errors import UnreadablePhoto
from vision.images import MAX_BYTES, Photo, crop, encode_jpeg, encode_png, read_photo, reduced

DATA = Path(__file__).resolve().parent.parent / "data"
UPRIGHT = files.quadrants()
IMAGE = Image.fromarray(UPRIGHT)

#: How the stored pixels must lie for each Exif orientation, so that the photo comes out upright (Exif 2.3, tag 0x0112).
STORED_FOR = {
    1: UPRIGHT,
    2: UPRIGHT[:, ::-1],
    3: UPRIGHT[::-1, ::-1],
    4: UPRIGHT[::-1],
    5: UPRIGHT.transpose(1, 0, 2),
    6: np.rot90(UPRIGHT, 1),
    7: UPRIGHT[::-1, ::-1].transpose(1, 0, 2),
    8: np.rot90(UPRIGHT, -1),
}


def assert_quadrants(photo: Photo, *, within: float) -> None:
    assert (photo.width, photo.height) == (files.WIDTH, files.HEIGHT)
    assert np.abs(np.subtract(files.quadrant_means(photo.pixels), files.QUADRANT_COLOURS)).max() <= within


def refusal(data: bytes, name: str = "photo.jpg") -> str:
    with pytest.raises(UnreadablePhoto) as caught:
        read_photo(data, name=name)
    message = str(caught.value)
    assert message.endswith("."), message
    assert ". " not in message, f"more than one sentence: {message}"
    assert "\n" not in message
    return message


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "TIFF"])
def test_every_accepted_format_gives_the_same_picture(kind: str) -> None:
    assert_quadrants(read_photo(files.file_of(IMAGE, kind, quality=95)), within=3)


def test_a_heic_photo_is_read() -> None:
    """The file was made with libheif's own encoder from the picture of `files.quadrants`."""
    assert_quadrants(read_photo((DATA / "heic_upright_with_gps.heic").read_bytes()), within=3)


def test_a_heic_photo_that_says_twice_that_it_is_turned_is_turned_once() -> None:
    """Phones write both the container's own turn and the Exif one; the standard lets only the first count."""
    assert_quadrants(read_photo((DATA / "heic_turned_with_gps.heic").read_bytes()), within=3)


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize(("kind", "within"), [("JPEG", 3), ("PNG", 0), ("WEBP", 3), ("TIFF", 0)])
def test_every_exif_orientation_comes_out_upright(kind: str, within: float, orientation: int) -> None:
    stored = Image.fromarray(np.ascontiguousarray(STORED_FOR[orientation]))
    exif = files.exif_with(orientation)
    assert_quadrants(read_photo(files.file_of(stored, kind, exif=exif, quality=95)), within=within)


def test_a_broken_exif_block_does_not_cost_the_photo() -> None:
    data = files.file_of(IMAGE, "JPEG", exif=b"Exif\0\0MM\0*\0\0\0\x08\xff\xff" + b"\x01\x12" * 9, quality=95)
    assert_quadrants(read_photo(data), within=3)


def test_a_cmyk_jpeg_is_converted_and_is_no_negative() -> None:
    """OpenCV converts the same file on its own way: both must see the same quarters."""
    data = files.file_of(IMAGE.convert("CMYK"), "JPEG", quality=97)
    photo = read_photo(data)
    other = cv2.cvtColor(cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR), cv2.COLOR_BGR2RGB)
    assert_quadrants(photo, within=6)
    assert np.abs(np.subtract(files.quadrant_means(photo.pixels), files.quadrant_means(other))).max() < 6


def test_16_bit_grey_is_scaled_to_8_bits_and_not_clipped() -> None:
    ramp = np.linspace(0, 65535, 256 * 128).reshape(128, 256).astype(np.uint16)
    pixels = read_photo(files.file_of(Image.fromarray(ramp), "PNG")).pixels
    expected = np.rint(ramp / 257)
    assert np.abs(pixels[:, :, 0] - expected).max() <= 1
    assert (pixels[:, :, 0] == pixels[:, :, 2]).all()


def test_16_bit_colour_is_scaled_to_8_bits() -> None:
    """OpenCV writes the file, as Pillow cannot."""
    deep = cv2.cvtColor(UPRIGHT.astype(np.uint16) * 257, cv2.COLOR_RGB2BGR)
    assert_quadrants(read_photo(cv2.imencode(".png", deep)[1].tobytes()), within=1)


@pytest.mark.parametrize("mode", ["P", "L", "1", "RGBA", "LA"])
def test_other_kinds_of_pixels_become_rgb(mode: str) -> None:
    photo = read_photo(files.file_of(IMAGE.convert(mode), "PNG"))
    expected = np.asarray(IMAGE.convert(mode).convert("RGB"))
    assert np.abs(photo.pixels.astype(int) - expected).max() <= 1


def test_transparent_parts_are_laid_on_white() -> None:
    clear = np.dstack([UPRIGHT, np.full((120, 160), 255, np.uint8)])
    clear[:60, :80, 3] = 0
    clear[:60, 80:, 3] = 51
    means = files.quadrant_means(read_photo(files.file_of(Image.fromarray(clear), "PNG")).pixels)
    assert means[0] == (255, 255, 255)
    assert means[1] == pytest.approx(np.add(np.multiply((40, 160, 60), 0.2), 255 * 0.8), abs=1)


def test_a_palette_with_a_transparent_colour_is_laid_on_white() -> None:
    flat = IMAGE.convert("P", palette=Image.Palette.ADAPTIVE, colors=4)
    red = flat.getpixel((10, 10))
    means = files.quadrant_means(read_photo(files.file_of(flat, "PNG", transparency=red)).pixels)
    assert means[0] == (255, 255, 255)
    assert means[3] == pytest.approx((230, 220, 200), abs=1)


def test_a_jpeg_with_a_second_picture_behind_it_gives_the_first() -> None:
    """Phones do this for depth and previews; only animations and pages are refused."""
    data = files.file_of(IMAGE, "MPO", save_all=True, append_images=[Image.new("RGB", (160, 120), "white")], quality=95)
    assert_quadrants(read_photo(data), within=3)


def damaged(kind: str) -> bytes:
    noise = np.random.default_rng(5).integers(0, 255, (200, 200, 3), dtype=np.uint8)
    whole = files.file_of(Image.fromarray(noise), kind)
    return whole[: len(whole) // 2]


def moving(kind: str) -> bytes:
    return files.file_of(IMAGE, kind, save_all=True, append_images=[Image.new("RGB", (160, 120), "white")])


REFUSED = {
    "an empty file": (b"", "empty"),
    "text named .jpg": (b"This is a letter, not a photo.\n" * 40, "plain text"),
    "a truncated JPEG": (damaged("JPEG"), "cut short"),
    "a truncated PNG": (damaged("PNG"), "cut short"),
    "a truncated WebP": (damaged("WEBP"), "cut short"),
    "a truncated TIFF": (damaged("TIFF"), "cut short"),
    "a truncated HEIC": ((DATA / "heic_upright_with_gps.heic").read_bytes()[:900], "damaged"),
    "the first bytes of a JPEG": (b"\xff\xd8\xff\xe0\x00\x10JFIF", "cut short"),
    "a 300-megapixel PNG header": (files.png_header(20_000, 15_000), "300 million pixels, and the limit is 40 million"),
    "a PNG just over the limit": (files.png_header(8_000, 6_000), "choose 12 megapixels"),
    "a PNG that claims all pixels there are": (files.png_header(2**31 - 1, 2**31 - 1), "limit is 40 million"),
    "an animated GIF": (moving("GIF"), "GIF"),
    "a still GIF": (files.file_of(IMAGE, "GIF"), "JPEG, PNG, WebP, TIFF and HEIC"),
    "an animated WebP": (moving("WEBP"), "one still photo"),
    "an animated PNG": (moving("PNG"), "one still photo"),
    "a TIFF of two pages": (moving("TIFF"), "one still photo"),
    "SVG": (b'<svg xmlns="http://www.w3.org/2000/svg" width="100" height="100"/>', "SVG"),
    "SVG after a declaration": (b'<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg"/>', "SVG"),
    "a PDF": (b"%PDF-1.7\n%\xe2\xe3\xcf\xd3", "PDF"),
    "a file over the limit": (b"\xff\xd8" + bytes(MAX_BYTES), "the limit is 30 MB"),
    "a thumbnail": (files.file_of(IMAGE.resize((80, 60)), "JPEG"), "at least 64 × 64"),
    "32-bit floats": (files.file_of(Image.fromarray(UPRIGHT[:, :, 0].astype(np.float32)), "TIFF"), "8 or 16 bits"),
    "an AVIF picture": (b"\0\0\0\x20ftypavif" + bytes(200), "AVIF"),
    "random bytes": (np.random.default_rng(1).bytes(4000), "cannot be read here"),
}


@pytest.mark.parametrize("what", REFUSED)
def test_what_is_no_photo_is_refused_in_one_sentence_that_says_why(what: str) -> None:
    data, part = REFUSED[what]
    assert part in refusal(data)


def test_a_decompression_bomb_is_refused_before_it_is_unpacked() -> None:
    """400 million pixels in 0.4 MB: the answer comes from the header, in the memory of a few pictures' headers."""
    bomb = io.BytesIO()
    Image.new("1", (20_000, 20_000)).save(bomb, "PNG")
    assert len(bomb.getvalue()) < 1_000_000
    assert "400 million pixels" in refusal(bomb.getvalue())


def test_a_png_with_a_text_that_unpacks_without_end_is_refused() -> None:
    text = files.png_chunk(b"zTXt", b"k\0\0" + files.zlib.compress(bytes(80 * 1024 * 1024)))
    plain = files.file_of(IMAGE, "PNG")
    cut = plain.index(b"IDAT") - 4
    refusal(plain[:cut] + text + plain[cut:])


def test_a_refusal_calls_the_file_by_a_short_name_on_one_line() -> None:
    message = refusal(b"", "a\nb" + "x" * 500)
    assert message.startswith("“ab")
    assert len(message) < 200


def test_pillow_warnings_do_not_leak() -> None:
    with warnings.catch_warnings(record=True) as seen:
        warnings.simplefilter("always")
        refusal(files.png_header(9_000, 9_000))
        read_photo(files.file_of(IMAGE, "JPEG", exif=b"Exif\0\0MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\xff\xff"))
    assert [str(warning.message) for warning in seen] == []


@settings(max_examples=150)
@given(
    kind=st.sampled_from(["JPEG", "PNG", "WEBP", "TIFF"]),
    changes=st.lists(st.tuples(st.integers(0, 10**6), st.integers(0, 255)), max_size=8),
    kept=st.floats(0.01, 1),
)
def test_damaged_bytes_give_a_photo_or_a_refusal_and_nothing_else(
    kind: str, changes: list[tuple[int, int]], kept: float
) -> None:
    data = bytearray(files.file_of(IMAGE, kind))
    for place, value in changes:
        data[place % len(data)] = value
    try:
        photo = read_photo(bytes(data[: max(1, int(kept * len(data)))]))
    except UnreadablePhoto:
        return
    assert photo.pixels.dtype == np.uint8


def full_of_metadata() -> bytes:
    exif = files.exif_with(6)
    xmp = b"<x:xmpmeta xmlns:x='adobe:ns:meta/'>secret</x:xmpmeta>"
    return files.file_of(IMAGE, "JPEG", exif=exif, comment=b"secret comment", icc_profile=b"profile " * 20, xmp=xmp)


def test_an_encoded_jpeg_holds_nothing_but_the_picture() -> None:
    """Every segment is walked by hand: only JFIF's header, tables, frame and scan are there."""
    before = {marker for marker, _ in files.jpeg_segments(full_of_metadata())}
    assert {0xE1, 0xE2, 0xFE} <= before, "the file that comes in must have Exif, a profile and a comment"
    stored = encode_jpeg(read_photo(full_of_metadata()))
    segments = files.jpeg_segments(stored)
    assert {marker for marker, _ in segments} <= {0xE0, 0xDB, 0xC0, 0xC4, 0xDA}
    jfif = [body for marker, body in segments if marker == 0xE0]
    assert [body[:5] for body in jfif] == [b"JFIF\0"]
    assert jfif[0][12:14] == b"\0\0", "JFIF can hold a thumbnail of its own"
    for word in (b"secret", b"Exif", b"GPS", b"Phone", b"xmp"):
        assert word not in stored


def test_an_encoded_png_holds_nothing_but_the_picture() -> None:
    stored = encode_png(read_photo(full_of_metadata()))
    assert set(files.png_chunks(stored)) == {b"IHDR", b"IDAT", b"IEND"}


@pytest.mark.skipif(shutil.which("exiftool") is None, reason="exiftool is not on this machine")
@pytest.mark.parametrize("encode", [encode_jpeg, encode_png])
def test_exiftool_finds_no_metadata_in_what_is_stored(encode, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    stored = tmp_path / "stored.bin"
    stored.write_bytes(encode(read_photo((DATA / "heic_turned_with_gps.heic").read_bytes())))
    said = subprocess.run(["exiftool", "-G1", "-s", str(stored)], capture_output=True, text=True, check=True).stdout
    groups = {line.split("]")[0].strip("[ ") for line in said.splitlines()}
    assert groups <= {"ExifTool", "System", "File", "JFIF", "PNG", "Composite"}, said


def test_png_keeps_every_pixel() -> None:
    assert (read_photo(encode_png(Photo(pixels=UPRIGHT))).pixels == UPRIGHT).all()


def test_pixels_of_a_photo_cannot_be_changed() -> None:
    photo = Photo(pixels=UPRIGHT.copy())
    with pytest.raises(ValueError, match="read-only"):
        photo.pixels[0, 0, 0] = 1


@pytest.mark.parametrize("pixels", [UPRIGHT[:, :, 0], UPRIGHT.astype(float), np.dstack([UPRIGHT, UPRIGHT[:, :, :1]])])
def test_a_photo_is_8_bit_rgb(pixels: np.ndarray) -> None:
    with pytest.raises(UnreadablePhoto, match="8-bit RGB"):
        Photo(pixels=pixels)


def test_a_crop_is_a_copy_of_that_part() -> None:
    part = crop(Photo(pixels=UPRIGHT), 70, 40, 500, 64)
    assert (part.width, part.height) == (90, 64)
    assert (part.pixels == UPRIGHT[40:104, 70:]).all()
    assert not np.shares_memory(part.pixels, UPRIGHT)


@pytest.mark.parametrize("box", [(0, 0, 63, 100), (150, 0, 100, 100), (-500, 0, 100, 100), (0, 0, -5, 100)])
def test_a_crop_with_too_little_left_is_refused(box: tuple[int, int, int, int]) -> None:
    with pytest.raises(UnreadablePhoto, match="at least 64 × 64"):
        crop(Photo(pixels=UPRIGHT), *box)


def test_reducing_keeps_the_shape_and_never_enlarges() -> None:
    photo = Photo(pixels=UPRIGHT)
    small = reduced(photo, 80)
    assert (small.width, small.height) == (80, 60)
    assert np.abs(np.subtract(files.quadrant_means(small.pixels), files.QUADRANT_COLOURS)).max() <= 1
    assert reduced(photo, 160) is photo
