"""Counted hands, and a new shop's first hour by its pages. A beginning: nothing plays the whole day yet."""
