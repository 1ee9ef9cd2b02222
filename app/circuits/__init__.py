"""The amp's own sheet: its blocks, what every node should read, what explains a wrong reading, and the drawing of the whole."""
