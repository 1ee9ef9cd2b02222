"""Classes of small hardware: kind, thread or diameter, length, head and finish. Pieces are counted by it."""
