"""A picture for mail: right size, same bytes, refused when it is none."""

import struct

import pytest
import typst

from api.web.documents import png_of_svg

SQUARE = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 200 100">'
    '<rect x="0" y="0" width="200" height="100" fill="#333"/><text x="10" y="50">142 g</text></svg>'
)


def test_picture_is_as_wide_as_asked_and_keeps_its_shape():
    png = png_of_svg(SQUARE, width_px=640)
    # PNG (ISO/IEC 15948): eight bytes of signature, then IHDR with width and height.
    assert png[:8] == b"\x89PNG\r\n\x1a\n"
    assert struct.unpack(">II", png[16:24]) == (640, 320)


def test_same_picture_same_bytes():
    assert png_of_svg(SQUARE, width_px=300) == png_of_svg(SQUARE, width_px=300)


@pytest.mark.parametrize("text", ["", "no picture", "<svg><unclosed></svg>", '#read("/etc/hostname")'])
def test_what_is_no_picture_is_refused(text):
    with pytest.raises(typst.TypstError):
        png_of_svg(text, width_px=300)
