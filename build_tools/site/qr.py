"""Room 5: draw an address as a QR code that a phone's camera reads from paper or a screen."""

from functools import lru_cache

import segno
from markupsafe import Markup

_QUIET_ZONE = 4  # modules of blank around the code, as ISO/IEC 18004 asks
_MANY = 2000


@lru_cache(maxsize=_MANY)
def qr_code(address: str) -> Markup:
    """Return an SVG picture of an address, black on white whatever the page's colors.

    Error correction is level M or better where the size allows it. The picture has a name
    for screen readers and no style of its own.
    """
    code = segno.make(address, error="m", micro=False)
    picture = code.svg_inline(
        border=_QUIET_ZONE, dark="#000", light="#fff", omitsize=True, svgclass="qr", lineclass=None
    )
    named = picture.replace("<svg ", '<svg role="img" aria-label="QR code of this address" ', 1)
    return Markup(named)  # noqa: S704 - the library writes numbers and our colors only
