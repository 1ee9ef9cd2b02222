"""Hands that are counted at the counter's pages, and a new shop's first hour by pages. A beginning: nothing plays the whole day yet."""
