"""What a recording of the load's voltage tells: level, noise and its lines, harmonics, response, onset of clipping. Pure."""
