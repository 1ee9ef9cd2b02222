"""What the shop's own mains makes of a sum's first values."""

from __future__ import annotations

from app.shop.models import Shop

# At and below this a mains is North America's, or Japan's: common practice, no source. Elsewhere fuses are those of IEC 60127.
_LOW_MAINS_V = 135.0


def usual_here(shop: Shop) -> dict[str, str]:
    """By field name: mains voltage and frequency, and the ratings that fuses have where the shop is."""
    region = "UL" if shop.mains_v <= _LOW_MAINS_V else "IEC"
    return {"mains_v": f"{shop.mains_v:g}", "mains_hz": f"{shop.mains_hz}", "region": region}
