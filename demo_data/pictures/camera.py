"""A picture as the file that a tablet's camera would hand over."""

from __future__ import annotations

from datetime import datetime
from io import BytesIO

from PIL import ExifTags, Image

# How a sensor held that way stores the picture (Exif 2.32, tag 0x0112; a viewer undoes it).
STORED_AS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_90,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_270,
}


def as_jpeg(
    image: Image.Image, *, exif_orientation: int = 1, with_gps: bool = False, taken: datetime | None = None
) -> bytes:
    """JPEG bytes with the EXIF of an invented camera.

    `exif_orientation` 1..8 stores the pixels as that tag says, so that a viewer that heeds it sees `image`.
    `with_gps` adds a place, in the middle of the Atlantic. `taken` is written as local time, as cameras do.
    Raises ValueError for an orientation that the tag does not know.
    """
    if exif_orientation not in (1, *STORED_AS):
        raise ValueError(f"the orientation tag is 1 to 8, not {exif_orientation}")
    stored = image.transpose(STORED_AS[exif_orientation]) if exif_orientation != 1 else image
    exif = Image.Exif()
    exif[ExifTags.Base.Make] = "Brackwell"
    exif[ExifTags.Base.Model] = "Brackwell Slate 2"
    exif[ExifTags.Base.Orientation] = exif_orientation
    if taken is not None:
        exif[ExifTags.Base.DateTime] = f"{taken:%Y:%m:%d %H:%M:%S}"
    if with_gps:
        exif[ExifTags.IFD.GPSInfo] = {
            ExifTags.GPS.GPSLatitudeRef: "N",
            ExifTags.GPS.GPSLatitude: (41.0, 12.0, 30.0),
            ExifTags.GPS.GPSLongitudeRef: "W",
            ExifTags.GPS.GPSLongitude: (33.0, 48.0, 6.0),
        }
    file = BytesIO()
    stored.save(file, "JPEG", quality=85, exif=exif)
    return file.getvalue()
