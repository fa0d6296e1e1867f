"""PNG files of a figure that changes a little at a time, packed quickly.

A frame is packed in bands of rows. A band that did not change since the last
frame is not packed again, and colours are kept in a palette of 256: both
together make a frame several times faster than a general writer.
"""

from __future__ import annotations

import zlib
from struct import pack

import numpy as np

BAND = 48
_BITS = 5  # of each colour channel that tell colours apart
_KEYS = 1 << (3 * _BITS)


class Frames:
    """Packs successive frames of one size.

    Parameters
    ----------
    width, height : int
        Dots.
    """

    def __init__(self, width: int, height: int):
        self.width, self.height = width, height
        self._last: np.ndarray | None = None
        self._rows = np.zeros((height, 1 + width), np.uint8)
        self._index = np.zeros((height, width), np.uint8)
        self._bands = [b""] * -(-height // BAND)
        self._number = np.full(_KEYS, -1, np.int16)  # colour key -> place in the palette
        self._palette = np.zeros((256, 3), np.uint8)
        self._used = 0

    def png(self, rgba: np.ndarray) -> bytes:
        """Return a frame as a PNG file.

        Parameters
        ----------
        rgba : array of uint8, shape (height, width, 4)
            Opaque pixels.
        """
        pixels = np.ascontiguousarray(rgba).view(np.uint32).reshape(self.height, self.width)
        if self._last is None:
            changed = np.ones(self.height, bool)
            self._last = pixels.copy()
        else:
            changed = (pixels != self._last).any(axis=1)
            self._last[changed] = pixels[changed]
        if changed.any():
            self._index[changed] = self._numbers(pixels[changed])
            self._pack(changed)
        body = b"\x78\x01" + b"".join(self._bands) + pack(">I", zlib.adler32(self._rows))
        header = pack(">IIBBBBB", self.width, self.height, 8, 3, 0, 0, 0)
        palette = self._palette[: self._used].tobytes()
        chunks = [b"\x89PNG\r\n\x1a\n"]
        for name, data in ((b"IHDR", header), (b"PLTE", palette), (b"IDAT", body), (b"IEND", b"")):
            chunks.append(
                pack(">I", len(data)) + name + data + pack(">I", zlib.crc32(data, zlib.crc32(name)))
            )
        return b"".join(chunks)

    def _pack(self, changed: np.ndarray) -> None:
        """Pack the bands that hold changed rows; a row is stored as its difference from the one above."""
        touched = changed.copy()
        touched[1:] |= changed[:-1]
        last = len(self._bands) - 1
        for k in range(len(self._bands)):
            low, high = k * BAND, min((k + 1) * BAND, self.height)
            if not touched[low:high].any():
                continue
            rows = self._rows[low:high]
            rows[:, 0] = 2
            rows[:, 1:] = self._index[low:high]
            if low == 0:
                rows[1:, 1:] -= self._index[: high - 1]
            else:
                rows[:, 1:] -= self._index[low - 1 : high - 1]
            packer = zlib.compressobj(1, zlib.DEFLATED, -15, 9, zlib.Z_RLE)
            data = packer.compress(rows)
            self._bands[k] = data + packer.flush(zlib.Z_FINISH if k == last else zlib.Z_FULL_FLUSH)

    def _numbers(self, pixels: np.ndarray) -> np.ndarray:
        """Palette place of every pixel; colours met for the first time are added while there is room."""
        keys = ((pixels >> 3) & 0x1F) | ((pixels >> 6) & 0x3E0) | ((pixels >> 9) & 0x7C00)
        numbers = self._number[keys]
        if numbers.min() < 0:
            new = numbers < 0
            values, counts = np.unique(pixels[new], return_counts=True)
            self._add(values[np.argsort(-counts)])
            numbers = self._number[keys]
        return numbers.astype(np.uint8)

    def _add(self, values: np.ndarray) -> None:
        for value in values.tolist():  # commonest first, so that a flat colour keeps its exact value
            r, g, b = value & 0xFF, (value >> 8) & 0xFF, (value >> 16) & 0xFF
            key = (r >> 3) | (g >> 3) << 5 | (b >> 3) << 10
            if self._number[key] >= 0:
                continue
            if self._used < 256:
                self._palette[self._used] = (r, g, b)
                self._number[key] = self._used
                self._used += 1
            else:
                away = self._palette.astype(np.int32) - (r, g, b)
                self._number[key] = int((away * away).sum(axis=1).argmin())
