"""Photos of breakers: what a file really is, read from its bytes and never from its name.

Nothing is decoded here, so a picture made to crash a decoder meets none. A photo is kept as it
was sent, is served under the one type found here, and stays out of the site file.
"""

from __future__ import annotations

import re
from typing import NoReturn

from server.domain.errors import InputError
from server.domain.survey import Photo, PhotoType

MAX_PHOTO_BYTES = 5_000_000
MAX_SIDE_PX = 12_000
MAX_PIXELS = 60_000_000
"""Past this a picture takes a browser more memory to show than a phone has to spare."""

MOST_CHUNKS = 2_000
"""Chunks of a moving WebP that are looked at: far above what a photo has."""

_PNG = b"\x89PNG\r\n\x1a\n"
_NOT_A_PHOTO = "This is no JPEG, PNG or WebP picture. Choose a photo."
_BROKEN = "This picture is cut short or broken. Take or send it once more."
MOST_MARKERS = 2_000
"""Markers of a JPEG before its scan that are looked at: far above what a photo has."""

_JPEG_FRAMES = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
_FILL = re.compile(rb"\xff+")
_JPEG_BARE = frozenset({0x01, *range(0xD0, 0xD8)})


def read_photo(data: bytes) -> Photo:
    """The photo in these bytes, known by its first bytes, its frame and its size.

    Forms: JPEG, ITU-T T.81 annex B; PNG, ISO/IEC 15948 (W3C PNG) 5.2 and 11.2.2; WebP, RFC 9649.

    Raises
    ------
    InputError   On field ``photo``: empty, above 5 MB, of another kind, broken, or too many
                 pixels.
    """
    if not data:
        _refuse("This file is empty.")
    if len(data) > MAX_PHOTO_BYTES:
        _refuse(f"This photo is larger than {MAX_PHOTO_BYTES / 1e6:g} MB. Send a smaller one.")
    if data.startswith(b"\xff\xd8\xff"):
        media_type: PhotoType = "image/jpeg"
        size = _jpeg_size(data)
    elif data.startswith(_PNG):
        media_type, size = "image/png", _png_size(data)
    elif data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        media_type, size = "image/webp", _webp_size(data)
    else:
        _refuse(_NOT_A_PHOTO)
    width_px, height_px = size or (0, 0)
    if not (width_px and height_px):
        _refuse(_BROKEN)
    if max(width_px, height_px) > MAX_SIDE_PX or width_px * height_px > MAX_PIXELS:
        _refuse(f"This picture is {width_px:,} by {height_px:,} pixels. Send a smaller one.")
    return Photo(media_type, width_px, height_px, data)


def _refuse(message: str) -> NoReturn:
    raise InputError(message, field="photo")


def _jpeg_size(data: bytes) -> tuple[int, int] | None:
    """Width and height in the frame header of a JPEG that reaches its scan and its end marker."""
    at = 2
    size = None
    for _ in range(MOST_MARKERS):
        if at + 4 > len(data) or data[at] != 0xFF:
            return None
        if (filled := _FILL.match(data, at)) is not None:  # 0xFF before a marker is fill, B.1.1.2
            at = filled.end() - 1
        marker = data[at + 1] if at + 1 < len(data) else 0
        if marker in _JPEG_BARE:
            at += 2
            continue
        length = int.from_bytes(data[at + 2 : at + 4])
        if length < 2:
            return None
        if marker in _JPEG_FRAMES and length >= 8 and at + 9 <= len(data):
            height, width = (
                int.from_bytes(data[at + 5 : at + 7]),
                int.from_bytes(data[at + 7 : at + 9]),
            )
            size = max(size or (0, 0), (width, height), key=lambda sides: sides[0] * sides[1])
        if marker == 0xDA:
            return size if data.find(b"\xff\xd9", at) > 0 else None
        at += 2 + length
    return None


def _png_size(data: bytes) -> tuple[int, int] | None:
    """Width and height of a PNG whose first chunk is its header and that has its end chunk."""
    if data[8:16] != b"\x00\x00\x00\rIHDR" or b"IEND\xaeB`\x82" not in data[-64:]:
        return None
    return int.from_bytes(data[16:20]), int.from_bytes(data[20:24])


def _webp_size(data: bytes) -> tuple[int, int] | None:
    """Width and height of a WebP in any of its three forms, all of it there."""
    if len(data) < 30 or int.from_bytes(data[4:8], "little") + 8 > len(data):
        return None
    form, body = data[12:16], data[20:30]
    if form == b"VP8X" and data[16:20] == b"\x0a\x00\x00\x00":
        canvas = 1 + int.from_bytes(body[4:7], "little"), 1 + int.from_bytes(body[7:10], "little")
        inner = _webp_frames(data, 30)
        return max(canvas, *inner, key=lambda sides: sides[0] * sides[1]) if inner else None
    return _webp_frame(form, body) if _fits(data, 12, len(data)) else None


def _fits(data: bytes, at: int, end: int) -> bool:
    """Whether the chunk that begins here is whole before ``end``."""
    return at + 8 + int.from_bytes(data[at + 4 : at + 8], "little") <= end


def _webp_frames(data: bytes, at: int) -> list[tuple[int, int]]:
    """Width and height of every frame in the chunks from here on, as the frames have it."""
    found: list[tuple[int, int]] = []
    inside = 0  # where the ANMF chunk ends that is being looked into
    for _ in range(MOST_CHUNKS):
        if at + 8 > len(data):
            return found
        form, length = data[at : at + 4], int.from_bytes(data[at + 4 : at + 8], "little")
        if not _fits(data, at, inside or len(data)):
            return []
        if form == b"ANMF":  # one frame of a moving picture: its own chunks follow its 16 bytes
            if inside or length < 24:
                return []
            inside = at + 8 + length
            at += 24
            continue
        if (size := _webp_frame(form, data[at + 8 : at + 18])) is not None:
            found.append(size)
        at += 8 + length + length % 2
        if inside and at >= inside:
            at, inside = inside + inside % 2, 0
    return []


def _webp_frame(form: bytes, body: bytes) -> tuple[int, int] | None:
    """Width and height of one coded frame; None for a chunk that is none."""
    if len(body) < 10:
        return None
    if form == b"VP8L" and body[0] == 0x2F:
        bits = int.from_bytes(body[1:5], "little")
        return 1 + (bits & 0x3FFF), 1 + (bits >> 14 & 0x3FFF)
    if form == b"VP8 " and body[3:6] == b"\x9d\x01\x2a":
        width, height = (int.from_bytes(body[n : n + 2], "little") & 0x3FFF for n in (6, 8))
        return width, height
    return None
