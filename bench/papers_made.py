"""Papers that are made up, to be measured and tested with: set as PDF, under a password, or as a scan of one."""

from __future__ import annotations

import hashlib
import io

import cv2
import numpy as np
import numpy.typing as npt
import typst
from PIL import Image

Picture = npt.NDArray[np.uint8]

# ISO 32000-1, 7.6.3.3: what a password is filled up with.
_FILL = bytes.fromhex("28BF4E5E4E758A4164004E56FFFA01082E2E00B6D0683E802F0CA9FE6453697A")


def pdf_of(*pages: str, size: str = "11pt") -> bytes:
    """Set pages of Typst as a PDF on A4."""
    head = f'#set page(width: 210mm, height: 297mm, margin: 20mm)\n#set text(font: "DejaVu Sans", size: {size})\n'
    made: bytes = typst.compile((head + "\n#pagebreak()\n".join(pages)).encode())
    return made


def picture_of(pdf: bytes, *, page: int = 1, longest_px: int = 2000) -> Picture:
    """Draw a page of a PDF: shape (height, width, 3), uint8, RGB."""
    import pypdfium2

    document = pypdfium2.PdfDocument(pdf)
    try:
        drawn = document[page - 1]
        bitmap = drawn.render(scale=longest_px / max(drawn.get_size()), rev_byteorder=True)
        return np.ascontiguousarray(bitmap.to_numpy()[..., :3])
    finally:
        document.close()


def scanned(picture: Picture, *, seed: int = 0, turned: int = 0, worn: float = 1.0) -> Picture:
    """Make a page look photographed: seen from aside, a little out of focus, unevenly lit, with noise; then turned."""
    rng = np.random.default_rng(seed)
    high, wide = picture.shape[:2]
    corners = np.array([(0, 0), (wide, 0), (wide, high), (0, high)], np.float32)
    aim = corners + rng.uniform(-0.02, 0.02, (4, 2)).astype(np.float32) * worn * (wide, high)
    room = 40
    seen = cv2.warpPerspective(
        picture,
        cv2.getPerspectiveTransform(corners, (aim + room).astype(np.float32)),
        (wide + 2 * room, high + 2 * room),
        borderValue=(90, 84, 76),
    )
    seen = cv2.GaussianBlur(seen, (0, 0), 0.9 * worn)
    light = np.linspace(1.0 - 0.25 * worn, 1.0, seen.shape[1])[None, :, None]
    seen = seen * light + rng.normal(0, 8 * worn, seen.shape)
    return np.ascontiguousarray(np.rot90(np.clip(seen, 0, 255).astype(np.uint8), -turned // 90))


def packed(picture: Picture, form: str = "JPEG", *more: Picture, **how: str | int) -> bytes:
    """Pack a picture, or several as one TIFF."""
    out = io.BytesIO()
    others = [Image.fromarray(one) for one in more]
    Image.fromarray(picture).save(out, form, **how, **({"save_all": True, "append_images": others} if others else {}))
    return out.getvalue()


def scan_of(*pictures: Picture) -> bytes:
    """Make a PDF that holds pictures of pages and no letters."""
    out = io.BytesIO()
    first, *rest = (Image.fromarray(one) for one in pictures)
    first.save(out, "PDF", save_all=True, append_images=rest, resolution=170)
    return out.getvalue()


def locked_pdf(words: str, password: str) -> bytes:
    """Make a PDF of one line under a password (ISO 32000-1, 7.6.3, revision 2: RC4 with 40 bits)."""
    filled = (password.encode("latin-1") + _FILL)[:32]
    owner = _rc4(_md5(filled)[:5], filled)
    number, may = b"\x01" * 16, (-44).to_bytes(4, "little", signed=True)
    key = _md5(filled + owner + may + number)[:5]
    user = _rc4(key, _FILL)

    def locked(data: bytes, object_: int) -> bytes:
        return _rc4(_md5(key + object_.to_bytes(3, "little") + b"\0\0")[:10], data)

    stream = locked(f"BT /F 18 Tf 60 700 Td ({words}) Tj ET".encode("latin-1"), 4)
    font = b"<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica >>"
    bodies = [
        b"<< /Type /Catalog /Pages 2 0 R >>",
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 595 842] /Contents 4 0 R /Resources << /Font << /F 5 0 R>>>>>>",
        b"<< /Length %d >>\nstream\n%s\nendstream" % (len(stream), stream),
        font,
        b"<< /Filter /Standard /V 1 /R 2 /O <%s> /U <%s> /P -44 >>" % (owner.hex().encode(), user.hex().encode()),
    ]
    out, places = bytearray(b"%PDF-1.4\n"), []
    for at, body in enumerate(bodies, 1):
        places.append(len(out))
        out += b"%d 0 obj\n%s\nendobj\n" % (at, body)
    table = len(out)
    out += b"xref\n0 %d\n0000000000 65535 f \n" % (len(bodies) + 1)
    out += b"".join(b"%010d 00000 n \n" % place for place in places)
    out += b"trailer\n<< /Size %d /Root 1 0 R /Encrypt 6 0 R /ID [<%s> <%s>] >>\nstartxref\n%d\n%%%%EOF\n" % (
        len(bodies) + 1,
        number.hex().encode(),
        number.hex().encode(),
        table,
    )
    return bytes(out)


def _md5(data: bytes) -> bytes:
    return hashlib.md5(data, usedforsecurity=False).digest()


def _rc4(key: bytes, data: bytes) -> bytes:
    state = list(range(256))
    at = 0
    for first in range(256):
        at = (at + state[first] + key[first % len(key)]) % 256
        state[first], state[at] = state[at], state[first]
    out, first, at = bytearray(), 0, 0
    for byte in data:
        first = (first + 1) % 256
        at = (at + state[first]) % 256
        state[first], state[at] = state[at], state[first]
        out.append(byte ^ state[(state[first] + state[at]) % 256])
    return bytes(out)
