"""Pages that gather from every stage: the bench list and the order's own page."""
