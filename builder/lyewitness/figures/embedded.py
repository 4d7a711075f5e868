"""Pictures within a drawing in fewer bytes, without loss.

In: an SVG as matplotlib writes it, with pictures as PNG of four channels. Out: the same with grey pictures
as PNG of one channel.
"""

import io
import re
from base64 import b64decode, b64encode

import numpy as np
from PIL import Image

_PICTURE = re.compile(rb'data:image/png;base64,([^"]*)')


def without_idle_channels(svg: bytes) -> bytes:
    """Return `svg` with each opaque grey picture in one channel."""
    return _PICTURE.sub(_smaller, svg)


def _smaller(found: re.Match[bytes]) -> bytes:
    with Image.open(io.BytesIO(b64decode(found.group(1)))) as picture:
        pixels = np.asarray(picture.convert("RGBA"))
    grey = pixels[..., 0]
    if (
        not (pixels[..., 1] == grey).all()
        or not (pixels[..., 2] == grey).all()
        or (pixels[..., 3] < 255).any()
    ):
        return found.group()
    buffer = io.BytesIO()
    Image.fromarray(grey).save(buffer, "PNG", optimize=True)
    return b"data:image/png;base64," + b64encode(buffer.getvalue())
