"""Reading a screenshot: a PNG of eight bits a channel, not interlaced (PNG, W3C), as an array of pixels."""

import struct
import zlib

import numpy as np
from numpy.typing import NDArray


def pixels(png: bytes) -> NDArray[np.uint8]:
    """Return the picture, shape (height, width, 3)."""
    at, packed, width, height, channels = 8, b"", 0, 0, 3
    while at < len(png):
        length, kind = struct.unpack(">I4s", png[at : at + 8])
        body = png[at + 8 : at + 8 + length]
        if kind == b"IHDR":
            width, height, depth, colour, _, _, interlaced = struct.unpack(">IIBBBBB", body)
            assert (depth, interlaced) == (8, 0)
            channels = {2: 3, 6: 4}[colour]
        elif kind == b"IDAT":
            packed += body
        at += 12 + length
    rows = np.frombuffer(zlib.decompress(packed), np.uint8).reshape(height, 1 + width * channels)
    picture = np.zeros((height, width * channels), np.uint8)
    above = np.zeros(width * channels, np.uint8)
    for n in range(height):
        above = _row(int(rows[n, 0]), rows[n, 1:], above, channels)
        picture[n] = above
    return picture.reshape(height, width, channels)[:, :, :3]


def _row(kind: int, row: NDArray[np.uint8], above: NDArray[np.uint8], channels: int) -> NDArray[np.uint8]:
    """Undo one row's filter (PNG section 9)."""
    if kind == 0:
        return row
    if kind == 2:
        return row + above
    if kind == 1:
        return np.cumsum(row.reshape(-1, channels), axis=0, dtype=np.uint8).reshape(-1)
    plain = np.zeros(len(row) + channels, np.int64)
    up = np.concatenate([np.zeros(channels, np.int64), above.astype(np.int64)])
    for k in range(channels, len(plain)):
        left, top, corner = plain[k - channels], up[k], up[k - channels]
        guess = (left + top) // 2 if kind == 3 else _nearest(left, top, corner)
        plain[k] = (int(row[k - channels]) + guess) & 255
    return plain[channels:].astype(np.uint8)


def _nearest(left: int, top: int, corner: int) -> int:
    """Return whichever neighbour is nearest to left + top - corner (the Paeth predictor)."""
    guess = left + top - corner
    far = abs(guess - left), abs(guess - top), abs(guess - corner)
    return left if far[0] <= far[1] and far[0] <= far[2] else top if far[1] <= far[2] else corner
