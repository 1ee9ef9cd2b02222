"""What takes too long for every run of the tests: kills, many clients at once, flipped bits; `./tagstrip check --long`."""
