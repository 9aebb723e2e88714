"""The smallest files with the frame of a picture of a given size, for photos in tests."""

from __future__ import annotations

import struct
import zlib


def png(width_px: int, height_px: int) -> bytes:
    """A grey PNG; one line of it only, which is enough for its frame."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return (
            struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        )

    header = struct.pack(">IIBBBBB", width_px, height_px, 8, 0, 0, 0, 0)
    lines = zlib.compress((b"\x00" + b"\x80" * min(width_px, 8)) * min(height_px, 8))
    start = b"\x89PNG\r\n\x1a\n"
    return start + chunk(b"IHDR", header) + chunk(b"IDAT", lines) + chunk(b"IEND", b"")


def jpeg(width_px: int, height_px: int) -> bytes:
    """A JPEG with the segments of a camera's, and a scan of nothing."""
    jfif = b"\xff\xe0\x00\x10JFIF\x00\x01\x01\x00\x00\x01\x00\x01\x00\x00"
    exif = b"\xff\xe1\x00\x0eExif\x00\x00MM\x00\x2a\x00\x00"
    frame = b"\xff\xc0\x00\x0b\x08" + struct.pack(">HH", height_px, width_px) + b"\x01\x01\x11\x00"
    scan = b"\xff\xda\x00\x08\x01\x01\x00\x00\x3f\x00" + b"\x3f\xff\x00\x1f"
    return b"\xff\xd8" + jfif + exif + frame + scan + b"\xff\xd9"


def _riff(form: bytes, body: bytes) -> bytes:
    inner = b"WEBP" + form + struct.pack("<I", len(body)) + body + b"\x00" * (len(body) % 2)
    return b"RIFF" + struct.pack("<I", len(inner)) + inner


def webp_lossy(width_px: int, height_px: int) -> bytes:
    """A WebP with a VP8 frame."""
    return _riff(
        b"VP8 ", b"\x30\x01\x00\x9d\x01\x2a" + struct.pack("<HH", width_px, height_px) + bytes(20)
    )


def webp_lossless(width_px: int, height_px: int) -> bytes:
    """A WebP with a VP8L frame."""
    bits = (width_px - 1) | (height_px - 1) << 14
    return _riff(b"VP8L", b"\x2f" + struct.pack("<I", bits) + bytes(20))


def webp_extended(
    width_px: int, height_px: int, *, frame: bytes | None = None, moving: bool = False
) -> bytes:
    """A WebP with an extended header and, unless given, a lossy frame of the same size."""
    sides = (width_px - 1).to_bytes(3, "little") + (height_px - 1).to_bytes(3, "little")
    chunk = (webp_lossy(width_px, height_px) if frame is None else frame)[12:]
    if moving:
        chunk = b"ANMF" + struct.pack("<I", 16 + len(chunk)) + bytes(16) + chunk
    body = b"VP8X" + struct.pack("<I", 10) + bytes(4) + sides + chunk
    return b"RIFF" + struct.pack("<I", len(body) + 4) + b"WEBP" + body
