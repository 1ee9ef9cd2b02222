"""What goes out on paper: receipt, estimate, final report, label, notice.

Each is gathered from every room (build), written once as a page, and issued as a PDF that is frozen with its SHA-256.
A change makes a new revision that names the one it replaces. The same page can be read on the screen.
"""
