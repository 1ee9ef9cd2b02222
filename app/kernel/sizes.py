"""How much a form may be."""

from __future__ import annotations

KILOBYTE, MEGABYTE = 1024, 1024 * 1024
SMALL_BODY = 64 * KILOBYTE  # a form of words; all that somebody may send who never signed in here
LARGEST_BODY = 60 * MEGABYTE  # what a page works with: photos of a finding, a price list
KEPT_BODY = 256 * MEGABYTE  # more than a page works with, yet laid on the disk so that what was typed beside it can be shown again
