"""Keeping sheets: the sheet, its blocks, and the points of the order that follow from it."""
