"""The decoders, loaded when the first picture needs them, and bounded."""

from __future__ import annotations

import functools
import warnings

from app.photos.kinds import Kind

MOST_PIXELS = 64_000_000
DECODING_THREADS = 2  # of one photo; each thread costs memory


def learn(kind: Kind) -> None:
    """Be able to open pictures of this kind: a start need not wait for it."""
    _bound()
    if kind is Kind.HEIC:
        _learn_heic()


@functools.cache
def _bound() -> None:
    from PIL import AvifImagePlugin, Image

    Image.MAX_IMAGE_PIXELS = MOST_PIXELS
    AvifImagePlugin.DEFAULT_MAX_THREADS = DECODING_THREADS
    # The library only warns up to twice its limit. Here the limit is a limit.
    warnings.simplefilter("error", Image.DecompressionBombWarning)


@functools.cache
def _learn_heic() -> None:
    import pillow_heif

    pillow_heif.register_heif_opener(thumbnails=False, decode_threads=DECODING_THREADS)
