"""What is a photo and what only says so."""

from __future__ import annotations

import struct
import zlib

import pytest

from server.domain.errors import InputError
from server.exchange.photo import MAX_PHOTO_BYTES, read_photo
from tests.photos import jpeg, png, webp_extended, webp_lossless, webp_lossy


@pytest.mark.parametrize(
    ("data", "media_type"),
    [
        (jpeg(640, 480), "image/jpeg"),
        (png(640, 480), "image/png"),
        (webp_lossy(640, 480), "image/webp"),
        (webp_lossless(640, 480), "image/webp"),
        (webp_extended(640, 480), "image/webp"),
        (webp_extended(640, 480, frame=webp_lossless(640, 480)), "image/webp"),
        (webp_extended(640, 480, moving=True), "image/webp"),
    ],
)
def test_photo_is_known_by_its_bytes(data: bytes, media_type: str):
    photo = read_photo(data)
    assert (photo.media_type, photo.width_px, photo.height_px) == (media_type, 640, 480)
    assert photo.data == data


@pytest.mark.parametrize(
    "data",
    [
        b"<!doctype html><script>alert(1)</script>",
        b'<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>',
        b"GIF89a\x01\x00\x01\x00\x00\x00\x00;",
        b"%PDF-1.7 %%EOF",
        b"RIFF\x24\x00\x00\x00WAVEfmt " + bytes(40),
        b" " + jpeg(640, 480),
        b"\xef\xbb\xbf" + png(640, 480),
    ],
)
def test_another_kind_of_file_is_refused(data: bytes):
    with pytest.raises(InputError, match="no JPEG, PNG or WebP") as refused:
        read_photo(data)
    assert refused.value.field == "photo"


@pytest.mark.parametrize("whole", [jpeg(640, 480), png(640, 480), webp_lossy(640, 480)])
def test_a_picture_cut_short_anywhere_is_refused(whole: bytes):
    for end in range(len(whole)):
        with pytest.raises(InputError):
            read_photo(whole[:end])


@pytest.mark.parametrize(
    "data",
    [
        jpeg(0, 480),
        png(640, 0),
        b"\xff\xd8\xff<script>alert(1)</script>",
        b"\xff\xd8\xff\xe0\x00\x00" + bytes(100) + b"\xff\xd9",
        b"\xff\xd8" + b"\xff" * 1_000,
        b"\x89PNG\r\n\x1a\n<html>IEND",
        b"RIFF\xff\xff\xff\x7fWEBPVP8X" + bytes(30),
        b"RIFF\x20\x00\x00\x00WEBPJUNK" + bytes(30),
        webp_extended(64, 64, frame=bytes(12) + (b"EXIF" + bytes(4)) * 5_000),
    ],
)
def test_a_frame_that_makes_no_sense_is_refused(data: bytes):
    with pytest.raises(InputError, match="broken"):
        read_photo(data)


def test_a_picture_of_too_many_pixels_is_refused_however_small_its_file():
    twice = jpeg(65_000, 65_000)[:-12] + jpeg(16, 16)[2:]
    hidden = webp_extended(64, 64, frame=webp_lossless(16_000, 16_000))
    moving = webp_extended(64, 64, frame=webp_lossless(16_000, 16_000), moving=True)
    whole = webp_extended(9_000, 9_000)
    for data in (png(60_000, 60_000), jpeg(65_000, 10), twice, whole, hidden, moving):
        assert len(data) < 1_000
        with pytest.raises(InputError, match="pixels"):
            read_photo(data)


def test_size_of_the_file_is_bounded_and_nothing_is_empty():
    with pytest.raises(InputError, match="5 MB"):
        read_photo(jpeg(640, 480) + bytes(MAX_PHOTO_BYTES))
    with pytest.raises(InputError, match="empty"):
        read_photo(b"")


def test_a_long_run_of_segments_ends():
    segment = b"\xff\xe1" + struct.pack(">H", 2)
    with pytest.raises(InputError, match="broken"):
        read_photo(b"\xff\xd8" + segment * 200_000)


def test_fill_before_a_marker_is_passed_over_whatever_its_length():
    whole = jpeg(640, 480)
    filled = read_photo(whole[:2] + b"\xff" * 100_000 + whole[2:])
    assert (filled.width_px, filled.height_px) == (640, 480)
    for endless in (b"\xff" * 4_900_000, b"\xff\x01" * 2_400_000):
        with pytest.raises(InputError, match="broken"):
            read_photo(b"\xff\xd8" + endless)


def _with_length(webp: bytes, form: bytes, length: int) -> bytes:
    at = webp.index(form) + 4
    return webp[:at] + struct.pack("<I", length) + webp[at + 4 :]


@pytest.mark.parametrize("length", [31, 10**6, 2**32 - 1])
@pytest.mark.parametrize(
    ("form", "webp"),
    [
        (b"VP8 ", webp_lossy(640, 480)),
        (b"VP8L", webp_lossless(640, 480)),
        (b"VP8 ", webp_extended(640, 480)),
        (b"VP8 ", webp_extended(640, 480, moving=True)),
        (b"ANMF", webp_extended(640, 480, moving=True)),
        (b"VP8X", webp_extended(640, 480)),
    ],
)
def test_a_webp_chunk_longer_than_what_holds_it_is_refused(form: bytes, webp: bytes, length: int):
    with pytest.raises(InputError, match="broken"):
        read_photo(_with_length(webp, form, length))


@pytest.mark.parametrize("length", [0, 3, 23])
def test_a_moving_frame_too_short_for_a_picture_is_refused(length: int):
    with pytest.raises(InputError, match="broken"):
        read_photo(_with_length(webp_extended(640, 480, moving=True), b"ANMF", length))


def test_the_png_made_here_is_one():
    data = png(3, 2)
    assert zlib.crc32(data[12:29]) == int.from_bytes(data[29:33])
